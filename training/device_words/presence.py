"""Noting who is here (static/presence/)."""

from django.utils.translation import gettext_noop as N_

WORDS = (
    N_("{day}, {from} to {to}"),
    N_("{day}, {from} to {to} on {last}"),
    N_("Who is here"),
    N_("There are no sessions from two days ago to eight days ahead."),
    N_("Nothing is on this device yet. With a signal, sign in and take the sessions along."),
    N_("{count} person"),
    N_("{count} people"),
    N_("Sign in"),
    N_("Take sessions along"),
    N_("Clear this device"),
    N_("Not on this device"),
    N_("Take the sessions along first."),
    N_("◀ Sessions"),
    N_("Nobody is enrolled."),
    N_("Not noted yet"),
    N_(
        "Times stay as this device says them. Set its clock, and have wrong times corrected "
        "at the desk."
    ),
    N_("{count} noted by another person stays here until they sign in on this device."),
    N_("{count} noted by another person stay here until they sign in on this device."),
    N_(
        "{count} not taken by the server. They stay here and stand on the session's page at "
        "the desk."
    ),
    N_("Saved on this device · {left}"),
    N_("{count} to send"),
    N_("all sent"),
    N_("Ways on"),
    N_("This device's clock is {count} minutes ahead of the server's."),
    N_("This device's clock is {count} minutes behind the server's."),
    N_("This device cannot keep presence"),
    N_("Came"),
    N_("Left"),
    N_("Was not there"),
    N_("This device could not save. Nothing was noted. Write it on paper, and reload the page."),
)
