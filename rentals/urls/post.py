"""Messages, their wording, reminders and the calendar feed."""

from django.urls import path

from rentals.views import (
    calendar_feed,
    chosen_drafts,
    mail_setup,
    message_acts,
    messages,
    wordings,
)

urlpatterns = [
    path("messages/", messages.message_list, name="messages"),
    path("messages/approve/", chosen_drafts.approve_listed, name="messages_approve"),
    path("messages/batches/<row:pk>/", messages.batch, name="messages_batch"),
    path("messages/<row:pk>/", messages.message, name="message"),
    path("messages/<row:pk>/approve/", message_acts.approve_mail, name="message_approve"),
    path("messages/<row:pk>/edit/", message_acts.edit_letter, name="message_edit"),
    path(
        "messages/<row:pk>/address/", message_acts.take_address_of_student, name="message_address"
    ),
    path("messages/<row:pk>/discard/", message_acts.discard_mail, name="message_discard"),
    path("messages/<row:pk>/resend/", message_acts.resend_mail, name="message_resend"),
    path("messages/<row:pk>/sent/", message_acts.note_mail_sent, name="message_sent"),
    path("messages/attachments/<row:pk>/", messages.attachment, name="attachment"),
    path("loans/<row:pk>/mail/", message_acts.write_for_loan, name="message_write"),
    path("loans/<row:pk>/on-its-way-back/", message_acts.sent_back, name="loan_sent_back"),
    path("setup/mail/", wordings.wordings, name="mail_wordings"),
    path("setup/mail/<str:occasion>/", wordings.wording, name="mail_wording"),
    path("setup/mail/<str:occasion>/usual/", wordings.usual, name="mail_wording_usual"),
    path("setup/mail/<str:occasion>/in/", wordings.in_language, name="mail_wording_language"),
    path("setup/mail/<str:occasion>/in/<str:language>/", wordings.wording, name="mail_wording_in"),
    path(
        "setup/mail/<str:occasion>/in/<str:language>/remove/",
        wordings.usual,
        name="mail_wording_remove",
    ),
    path("setup/reminders/", mail_setup.reminders, name="reminders"),
    path("setup/reminders/new/", mail_setup.rule_new, name="reminder_new"),
    path("setup/reminders/usual/", mail_setup.rules_usual, name="reminders_usual"),
    path("setup/reminders/<row:pk>/", mail_setup.rule_edit, name="reminder"),
    path("setup/reminders/<row:pk>/remove/", mail_setup.rule_remove, name="reminder_remove"),
    path("setup/calendar/", calendar_feed.links, name="calendar_links"),
    path("setup/calendar/<row:pk>/new/", calendar_feed.renew, name="calendar_renew"),
    path("setup/calendar/<row:pk>/revoke/", calendar_feed.revoke, name="calendar_revoke"),
    path("calendar/<str:token>.ics", calendar_feed.feed, name="calendar_feed"),
]
