"""What an S3-compatible store answers, as one sentence with what to do."""

from __future__ import annotations

_KEYS = "AWS_ACCESS_KEY_ID and AWS_SECRET_ACCESS_KEY"
_REFUSED_KEYS = (
    f"The store of files does not take the keys in {_KEYS}. Correct them, then start again."
)
#: By the code of the answer.
_MEANINGS = {
    "NoSuchBucket": (
        "The store of files has no bucket {bucket}. Make it, or correct its name in KITDESK_FILES."
    ),
    "InvalidBucketName": "{bucket} can be no bucket's name. Correct it in KITDESK_FILES.",
    "InvalidAccessKeyId": _REFUSED_KEYS,
    "InvalidClientTokenId": _REFUSED_KEYS,
    "SignatureDoesNotMatch": _REFUSED_KEYS,
    "AuthFailure": _REFUSED_KEYS,
    "ExpiredToken": (f"The keys in {_KEYS} have run out. Put new ones there, then start again."),
    "AccessDenied": (
        "The keys of this desk may not list, read, write and delete in the bucket {bucket}. Give"
        " them that right."
    ),
    "RequestTimeTooSkewed": (
        "The clock of this machine is not that of the store of files. Set it right."
    ),
    "PermanentRedirect": (
        "The bucket {bucket} lies in another region. Name it with region= in KITDESK_FILES."
    ),
}
_MEANINGS["403"] = _MEANINGS["Forbidden"] = _MEANINGS["AccessDenied"]
_MEANINGS["301"] = _MEANINGS["AuthorizationHeaderMalformed"] = _MEANINGS["PermanentRedirect"]


def sentence_for_answer(code: str, words: str, *, bucket: str, place: str) -> str:
    """What a refusal of the store at `place` means, by its code; its own words where that is not
    known.
    """
    if code in _MEANINGS:
        return _MEANINGS[code].format(bucket=bucket)
    answer = " ".join(filter(None, (code, words))).rstrip(".")
    return f"The store of files at {place} refuses for now: {answer}. Try again in some minutes."


def sentence_for_no_keys() -> str:
    """What is said where the desk has no keys to show."""
    return f"The store of files asks for keys. Set {_KEYS}, then start again."


def sentence_for_no_answer(place: str) -> str:
    """What is said of a store that cannot be reached, or is too slow."""
    return (
        f"The store of files at {place} does not answer. Try again in a moment; if it stays so, see"
        " that it runs and that KITDESK_FILES names it."
    )
