"""What every answer tells a browser beside its content: what our pages may do there, and what it may keep of them."""

from collections.abc import Callable

from django.http import HttpRequest, HttpResponseBase

# A tag is read by the camera, and a screen stays on until a dip is over; nothing else is ever asked for.
MAY = "camera=(self), screen-wake-lock=(self)"
MAY_NOT = (
    "accelerometer display-capture encrypted-media geolocation gyroscope hid magnetometer microphone midi payment "
    "publickey-credentials-get serial usb xr-spatial-tracking"
).split()
PERMISSIONS = ", ".join([MAY, *(f"{name}=()" for name in MAY_NOT)])


class Heads:
    """Permissions Policy and Cross-Origin-Resource-Policy (Fetch standard) on everything, files among it.

    What says nothing of keeping is not kept (`no-store`): pages have names on them, and the computer of a counter is
    everybody's. What a phone keeps to work without a line says so itself: the orchard page, its scripts, the sheets
    that the page puts by.
    """

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponseBase]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponseBase:
        response = self.get_response(request)
        response.headers.setdefault("Permissions-Policy", PERMISSIONS)
        response.headers.setdefault("Cross-Origin-Resource-Policy", "same-origin")
        response.headers.setdefault("Cache-Control", "private, no-store")
        return response
