"""Messages."""

from django.urls import path

from rentals.views import messages

urlpatterns = [
    path("messages/", messages.message_list, name="messages"),
    path("messages/<int:pk>/", messages.message, name="message"),
    path("messages/attachments/<int:pk>/", messages.attachment, name="attachment"),
]
