"""Settings of Kitdesk. Everything that differs between desks comes from environment variables
(table in README.md).
"""

import os
from email.utils import formataddr
from pathlib import Path
from urllib.parse import urlsplit

import environ
from django.core.exceptions import ImproperlyConfigured

from kitdesk.file_place import WrongPlace, copies_place, file_place
from kitdesk.postgres_options import without_machine_code
from kitdesk.secret import kept_secret

BASE_DIR = Path(__file__).resolve().parent.parent
env = environ.Env()
MIB = 1024 * 1024

# Where this desk keeps its data ------------------------------------------
VAR = Path(env.str("KITDESK_VAR", default="") or BASE_DIR / "var" / "desk").resolve()
VAR.mkdir(parents=True, exist_ok=True, mode=0o700)
# Captures and photos: a folder, or a bucket in an S3-compatible store.
try:
    _files = file_place(env.str("KITDESK_FILES", default=""))
    _copies = copies_place(env.str("KITDESK_BACKUPS_S3", default=""))
except WrongPlace as _problem:
    raise ImproperlyConfigured(str(_problem)) from _problem
MEDIA_ROOT = _files.folder or VAR / "media"
STATIC_ROOT = VAR / "static"
# The usual desk has its mail beside it in var/outbox; the demo and a folder of one's own keep it
# inside.
KITDESK_OUTBOX = BASE_DIR / "var" / "outbox" if VAR == BASE_DIR / "var" / "desk" else VAR / "outbox"
# Who was erased, by number, and where backups lie that must learn of it.
KITDESK_ERASURES = VAR / "erasures"

# A folder on another disk is better; "off" for a desk whose backups are made by something else.
_backups = env.str("KITDESK_BACKUPS", default="") or str(VAR / "backups")
KITDESK_BACKUPS = None if _backups == "off" else Path(_backups).resolve()
KITDESK_BACKUP_PHRASE = env.str("KITDESK_BACKUP_PHRASE", default="")

# Server processes of `start`; 0 for the usual number.
KITDESK_SERVERS = env.int("KITDESK_SERVERS", default=0)

# Who may call, and how ---------------------------------------------------
DEBUG = env.bool("DEBUG", default=False)
SECRET_KEY = env.str("SECRET_KEY", default="") or kept_secret(VAR / "secret.key")
# What the log is signed with, and the heads of it that were told: both apart from the database.
LOG_KEY_FILE = VAR / "log.key"
KITDESK_LOG_KEY = env.str("KITDESK_LOG_KEY", default="") or kept_secret(LOG_KEY_FILE)
KITDESK_LOG_HEADS = VAR / "log.heads"
SITE_URL = env.str("SITE_URL", default="http://127.0.0.1:8000").rstrip("/")
_site = urlsplit(SITE_URL)
_https = _site.scheme == "https"
ALLOWED_HOSTS = env.list("ALLOWED_HOSTS", default=["localhost", "127.0.0.1", "[::1]"])
if _site.hostname and _site.hostname not in ALLOWED_HOSTS:
    ALLOWED_HOSTS.append(_site.hostname)
CSRF_TRUSTED_ORIGINS = env.list("CSRF_TRUSTED_ORIGINS", default=[SITE_URL] if _https else [])

# A secure SITE_URL switches on everything that makes sense only behind TLS.
SECURE_SSL_REDIRECT = _https
SECURE_REDIRECT_EXEMPT = [r"^(health|metrics)$"]
SECURE_HSTS_SECONDS = 31_536_000 if _https else 0
SECURE_HSTS_INCLUDE_SUBDOMAINS = _https
SECURE_HSTS_PRELOAD = _https
SESSION_COOKIE_SECURE = _https
CSRF_COOKIE_SECURE = _https
SESSION_COOKIE_HTTPONLY = True
SESSION_COOKIE_AGE = 14 * 24 * 3600
KITDESK_IDLE_HOURS = env.int("KITDESK_IDLE_HOURS", default=12)
X_FRAME_OPTIONS = "DENY"
SECURE_REFERRER_POLICY = "same-origin"
CSRF_FAILURE_VIEW = "kitdesk.views.errors.csrf_failure"
# A proxy in front that sets X-Forwarded-Proto and -For itself: only then may these headers be
# believed.
TRUSTED_PROXY = env.str("TRUSTED_PROXY", default="")
if TRUSTED_PROXY:
    SECURE_PROXY_SSL_HEADER = ("HTTP_X_FORWARDED_PROTO", "https")
    ALLAUTH_TRUSTED_PROXY_COUNT = 1

# Parts -------------------------------------------------------------------
INSTALLED_APPS = [
    "kitdesk.apps.KitdeskConfig",
    "rentals.apps.RentalsConfig",
    "readiness.apps.ReadinessConfig",
    "django.contrib.auth",
    "django.contrib.contenttypes",
    "django.contrib.sessions",
    "django.contrib.messages",
    "whitenoise.runserver_nostatic",
    "django.contrib.staticfiles",
    "django.forms",
    "django_htmx",
    "django_countries",
    "heroicons",
    "csp",
    "allauth",
    "allauth.account",
    "allauth.mfa",
    "django_tasks",
    "django_tasks_db",
]
MIDDLEWARE = [
    "kitdesk.traces.log_lines.RequestLineMiddleware",
    "kitdesk.door.gate.DoorMiddleware",
    "django.middleware.security.SecurityMiddleware",
    "whitenoise.middleware.WhiteNoiseMiddleware",
    "kitdesk.middleware.NotKeptMiddleware",
    "csp.middleware.CSPMiddleware",
    "kitdesk.middleware.ScriptedFormMiddleware",
    "django.contrib.sessions.middleware.SessionMiddleware",
    "django.middleware.common.CommonMiddleware",
    "django.middleware.csrf.CsrfViewMiddleware",
    "django.contrib.auth.middleware.AuthenticationMiddleware",
    "kitdesk.middleware.NoNulMiddleware",
    "kitdesk.middleware.FirstRunMiddleware",
    "django.contrib.auth.middleware.LoginRequiredMiddleware",
    "kitdesk.roles.gate.RolesMiddleware",
    "django.contrib.messages.middleware.MessageMiddleware",
    "kitdesk.idle.IdleMiddleware",
    "django.middleware.clickjacking.XFrameOptionsMiddleware",
    "django_htmx.middleware.HtmxMiddleware",
    "allauth.account.middleware.AccountMiddleware",
    "kitdesk.known_browsers.KnownBrowserMiddleware",
    "kitdesk.middleware.BusyMiddleware",
]
ROOT_URLCONF = "kitdesk.urls"
WSGI_APPLICATION = "kitdesk.wsgi.application"
TEMPLATES = [
    {
        "BACKEND": "django.template.backends.django.DjangoTemplates",
        "DIRS": [BASE_DIR / "templates"],
        "APP_DIRS": True,
        "OPTIONS": {
            "context_processors": [
                "django.template.context_processors.request",
                "django.contrib.auth.context_processors.auth",
                "django.contrib.messages.context_processors.messages",
                "kitdesk.context.desk",
            ],
            # Its `url` takes the place of Django's.
            "builtins": ["rentals.templatetags.addresses"],
        },
    },
]
# An address typed without a scheme is a secure one. (Django 6 makes this the rule; the switch goes
# with that step.)
FORMS_URLFIELD_ASSUME_HTTPS = True
FORM_RENDERER = "django.forms.renderers.TemplatesSetting"

# Data --------------------------------------------------------------------
try:
    _database = env.db_url(
        "DATABASE_URL", default=f"sqlite:///{(VAR / 'kitdesk.sqlite3').as_posix()}"
    )
except ValueError:
    # An address that cannot even be read, such as one whose port is a word: see
    # kitdesk/database_problems.py.
    _database = {}
DATABASES = {"default": _database}
if DATABASES["default"].get("ENGINE") == "django.db.backends.sqlite3":
    # Readers never wait for a writer (WAL), a writer takes its lock at BEGIN and waits its turn
    # (IMMEDIATE), and a committed line survives a power cut (FULL): an address label once printed
    # must stay known. What is deleted is written over: an erased student is in no page of the file.
    # The 2 MB that SQLite keeps of it as a rule do not hold what one list of a large desk reads.
    DATABASES["default"]["OPTIONS"] = {
        "transaction_mode": "IMMEDIATE",
        "timeout": 5,
        "init_command": "PRAGMA journal_mode=WAL; PRAGMA synchronous=FULL;"
        " PRAGMA secure_delete=ON; PRAGMA cache_size=-8000;",
    }
else:
    DATABASES["default"]["CONN_HEALTH_CHECKS"] = True
    without_machine_code(DATABASES["default"])
# A thread keeps its connection: opening SQLite anew costs an empty page a seventh of its time, and
# a fresh connection reads its pages and prepares its statements anew.
DATABASES["default"]["CONN_MAX_AGE"] = 60
DEFAULT_AUTO_FIELD = "django.db.models.BigAutoField"
# Rate limits must be common to all processes and outlive a restart, so the cache lives in the
# database.
CACHES = {
    "default": {
        "BACKEND": "django.core.cache.backends.db.DatabaseCache",
        "LOCATION": "kitdesk_cache",
        # Beyond it the oldest keys go, which may be that of a living worker.
        "OPTIONS": {"MAX_ENTRIES": 10_000},
    }
}
TASKS = {"default": {"BACKEND": "django_tasks_db.DatabaseBackend"}}

# Sign-in -----------------------------------------------------------------
AUTHENTICATION_BACKENDS = ["allauth.account.auth_backends.AuthenticationBackend"]
PASSWORD_HASHERS = [
    "django.contrib.auth.hashers.Argon2PasswordHasher",
    "django.contrib.auth.hashers.PBKDF2PasswordHasher",
]
AUTH_PASSWORD_VALIDATORS = [
    {"NAME": "django.contrib.auth.password_validation.UserAttributeSimilarityValidator"},
    {
        "NAME": "django.contrib.auth.password_validation.MinimumLengthValidator",
        "OPTIONS": {"min_length": 10},
    },
    {"NAME": "django.contrib.auth.password_validation.CommonPasswordValidator"},
    {"NAME": "django.contrib.auth.password_validation.NumericPasswordValidator"},
]
LOGIN_URL = "account_login"
LOGIN_REDIRECT_URL = "/"
ACCOUNT_ADAPTER = "kitdesk.accounts.ClosedSignup"
ACCOUNT_FORMS = {
    "login": "kitdesk.sign_in.SignInForm",
    "reauthenticate": "kitdesk.sign_in.PasswordAgainForm",
}
ACCOUNT_LOGIN_METHODS = {"username"}
ACCOUNT_SIGNUP_FIELDS = ["username*", "password1*", "password2*"]
ACCOUNT_EMAIL_VERIFICATION = "none"
ACCOUNT_LOGOUT_REDIRECT_URL = "account_login"
ACCOUNT_LOGIN_BY_CODE_ENABLED = False
ACCOUNT_SESSION_REMEMBER = True
# Waits after wrong passwords are the adapter's: by name and address together. The library's go by
# name alone, with which a stranger keeps the owner out.
ACCOUNT_RATE_LIMITS = {"login": None, "login_failed": None}
MFA_SUPPORTED_TYPES = ["totp", "recovery_codes", "webauthn"]
MFA_PASSKEY_LOGIN_ENABLED = True
# Browsers give passkeys to secure sites alone, and the library takes none from others.
KITDESK_PASSKEYS = _https
MFA_TOTP_ISSUER = "Kitdesk"
MFA_FORMS = {
    "add_webauthn": "kitdesk.passkey_forms.PasskeyForm",
    "edit_webauthn": "kitdesk.passkey_forms.PasskeyNameForm",
    "login_webauthn": "kitdesk.passkey_forms.PasskeySignInForm",
    "authenticate_webauthn": "kitdesk.passkey_forms.PasskeySecondStepForm",
    "reauthenticate_webauthn": "kitdesk.passkey_forms.PasskeyAgainForm",
    "authenticate": "kitdesk.sign_in.SecondStepForm",
    "reauthenticate": "kitdesk.sign_in.SecondStepAgainForm",
}

# Words, times, numbers ---------------------------------------------------
LANGUAGE_CODE = "en-gb"
LANGUAGES = [("en-gb", "English")]
TIME_ZONE = env.str("TIME_ZONE", default="UTC")
USE_TZ = True
USE_I18N = True

# Static files and uploads ------------------------------------------------
STATIC_URL = "static/"
STATICFILES_DIRS = [BASE_DIR / "static"] if (BASE_DIR / "static").is_dir() else []
MEDIA_URL = "media/"
_static = "django.contrib.staticfiles.storage.StaticFilesStorage"
STORAGES = {
    "default": _files.backend,
    **({"backups": _copies.backend} if _copies.options else {}),
    "staticfiles": {"BACKEND": _static if DEBUG else "kitdesk.kept_static.KeptStaticFiles"},
}
WHITENOISE_USE_FINDERS = DEBUG
KITDESK_CAPTURE_MAX_BYTES = 32 * MIB
# Font files for scripts that neither the built-in fonts nor those found on this machine have,
# embedded in every PDF.
KITDESK_FONTS = env.list("KITDESK_FONTS", default=[])
DATA_UPLOAD_MAX_MEMORY_SIZE = 8 * MIB
DATA_UPLOAD_MAX_NUMBER_FILES = 400
DATA_UPLOAD_MAX_NUMBER_FIELDS = 10_000
FILE_UPLOAD_MAX_MEMORY_SIZE = 2 * MIB
# Nobody else on the machine reads what the desk writes (see kitdesk/private_files.py).
FILE_UPLOAD_PERMISSIONS = 0o600
FILE_UPLOAD_DIRECTORY_PERMISSIONS = 0o700

# What a page may load: this site's own files and nothing written inline.
_OWN, _NOTHING = "'self'", "'none'"
CONTENT_SECURITY_POLICY = {
    "DIRECTIVES": {
        "default-src": [_NOTHING],
        "script-src": [_OWN],
        "style-src": [_OWN],
        "img-src": [_OWN, "data:", "blob:"],
        "font-src": [_OWN],
        "connect-src": [_OWN],
        "media-src": [_OWN],
        "manifest-src": [_OWN],
        "form-action": [_OWN],
        "base-uri": [_NOTHING],
        "object-src": [_NOTHING],
        "frame-ancestors": [_NOTHING],
    }
}

# Mail --------------------------------------------------------------------
# Without EMAIL_URL nothing leaves the machine: each mail becomes a file in the outbox, and the
# screens say so.
KITDESK_MAIL_TO_FILES = not env.str("EMAIL_URL", default="")
if KITDESK_MAIL_TO_FILES:
    EMAIL_BACKEND = "kitdesk.mail_files.EmlBackend"
else:
    vars().update(env.email_url("EMAIL_URL"))
EMAIL_TIMEOUT = env.int("EMAIL_TIMEOUT", default=20)
DEFAULT_FROM_EMAIL = env.str(
    "DEFAULT_FROM_EMAIL", default=formataddr(("Kitdesk", "kitdesk@localhost"))
)
# Where mail servers report a mail that could not be delivered (the envelope's sender); else the
# sender's own address.
BOUNCE_ADDRESS = env.str("BOUNCE_ADDRESS", default="")
SERVER_EMAIL = DEFAULT_FROM_EMAIL

# Metrics -----------------------------------------------------------------
# Who may read /metrics: addresses, networks and tokens; empty for nobody, and nothing is counted.
KITDESK_METRICS = env.list("KITDESK_METRICS", default=[])
if KITDESK_METRICS:
    _counts = VAR / "metrics"
    _counts.mkdir(exist_ok=True, mode=0o700)
    os.environ.setdefault("PROMETHEUS_MULTIPROC_DIR", str(_counts))

# Webhooks ----------------------------------------------------------------
# Networks that may be called although they are not public; empty for none.
KITDESK_HOOKS_PRIVATE = env.list("KITDESK_HOOKS_PRIVATE", default=[])

# Log ---------------------------------------------------------------------
# "json" for programs that collect logs, with a line for each request and each task.
KITDESK_LOG = env.str("KITDESK_LOG", default="") or "plain"
_each_request = "INFO" if KITDESK_LOG == "json" else "NOTSET"
LOGGING = {
    "version": 1,
    "disable_existing_loggers": False,
    "formatters": {
        "plain": {
            "()": "kitdesk.log_masks.MaskedFormatter",
            "fmt": "{asctime} {levelname} {name}: {message}",
            "style": "{",
            "whole": DEBUG,
        },
        "json": {"()": "kitdesk.log_masks.JsonFormatter", "whole": DEBUG},
    },
    "handlers": {
        "console": {
            "class": "logging.StreamHandler",
            "formatter": "json" if KITDESK_LOG == "json" else "plain",
        }
    },
    "root": {"handlers": ["console"], "level": env.str("LOG_LEVEL", default="WARNING")},
    # Without writers of their own: all that is logged passes the one above. A request has one line,
    # so what Django says of pages that are not there, and its server of each page, is left out.
    "loggers": {
        "django": {"handlers": []},
        "django.request": {"handlers": [], "level": "ERROR"},
        "django.server": {"handlers": [], "level": "CRITICAL"},
        # What is asked of the database holds everything.
        "django.db.backends": {"handlers": [], "level": "INFO"},
        "kitdesk.request": {"handlers": [], "level": _each_request},
        "kitdesk.task": {"handlers": [], "level": _each_request},
    },
}
