"""Why what a device sent was set aside: kept in English, said where it is shown."""

from django.utils.translation import gettext_noop as N_

SAID = (
    N_(
        "This was scored already, in another window or on another device. "
        "Reload the page and correct what stands there."
    ),
    N_("Another event of this device has the same epoch and seq: send it with the next."),
    N_("This attempt was signed off meanwhile: nothing more is scored."),
    N_(
        "This was scored under another standard than the attempt's. "
        "Reload the scoring page on the device."
    ),
    N_("This stage stands from the attempt before: it is not scored again."),
    N_(
        "This was corrected meanwhile, in another window or on another device. "
        "Reload the page and correct what stands there now."
    ),
    N_("The value holds a text with a character of no meaning (NUL): enter it again."),
    N_("Nothing is scored here yet, so there is nothing to undo."),
    N_("The event has no {name}."),
    N_("Version {version} of the event has no field {name}."),
    N_(
        "The event has schema version {version}; this server reads {number}. Reload the scoring "
        "page on the device."
    ),
    N_(
        "The event has schema version {version}; this server reads {number}. It is read again "
        "once the server is brought up to date."
    ),
    N_("The event's {name} is not a UUID."),
    N_("The event's {name} must be text."),
    N_("The event's seq must be a whole number from 1."),
    N_("The event's subject must be {kind, key}."),
    N_("The subject's kind is criterion or hold_point, its key text."),
    N_("The event's value must be an object."),
    N_("The note must be text."),
    N_("The note has {count} characters: keep it to {most}."),
    N_("The device's time must be ISO 8601 with its offset, such as 2026-11-03T10:15:00-05:00."),
    N_("The device's time zone must be a name such as America/New_York."),
    N_("This id is stored with other content. That one stands; what came now is kept aside."),
    N_(
        "This names another device than the one on which the run was taken up. Ask who scored it "
        "on which device, then take it in or leave it out."
    ),
    N_("The event has no id that it can be answered by."),
    N_("This server knows no event of this kind."),
    N_("The event cannot be read."),
    N_("The server has no such attempt."),
    N_("This attempt is not one of the run that was taken up."),
    N_("Nobody assesses the own work."),
    N_(
        "Who scored this no longer leads or teaches the run. It is kept, and a training lead "
        "answers what becomes of it."
    ),
    N_("The database cannot hold this event as it is."),
    N_("Only a lead or an instructor of the run takes up this attempt."),
    N_("This attempt was signed off meanwhile: no photograph is added to it."),
    N_("A photograph with this id is stored with other content. That one stands."),
    N_("The event's kind must be {kind}."),
    N_("The photograph's sha256 must be 64 lowercase hex digits."),
    N_("The photograph's {name} must be a whole number from 1 to {most}."),
)
