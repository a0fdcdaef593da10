"""One address for Prometheus: counts and figures of the desk."""

from http import HTTPStatus

from django.conf import settings
from django.contrib.auth.decorators import login_not_required
from django.http import Http404, HttpRequest, HttpResponse
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_safe

from kitdesk.traces.readers import may_read_metrics


@login_not_required
@never_cache
@require_safe
def metrics(request: HttpRequest) -> HttpResponse:
    """All of them in the form that is asked for; 404 where metrics are off, 401 for strangers."""
    if not settings.KITDESK_METRICS:
        raise Http404
    if not may_read_metrics(request):
        answer = HttpResponse("Only for readers that KITDESK_METRICS names.\n", "text/plain")
        answer.status_code = HTTPStatus.UNAUTHORIZED
        answer["WWW-Authenticate"] = "Bearer"
        return answer
    # The library is heavy to load: only where it is used.
    from prometheus_client.exposition import choose_encoder

    from kitdesk.traces.meters import counts_of_all_processes
    from kitdesk.watching.figures import DeskFigures

    registry = counts_of_all_processes()
    registry.register(DeskFigures())
    write, content_type = choose_encoder(request.headers.get("Accept", ""))
    return HttpResponse(write(registry), content_type=content_type)
