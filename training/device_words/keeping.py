"""Keeping, sending and photographing on a device (the other modules of static/site/)."""

from django.utils.translation import gettext_noop as N_

WORDS = (
    N_("Not found"),
    N_("There is no such screen."),
    N_("Saved on this phone · {left}"),
    N_("One moment"),
    N_("This phone cannot keep scores"),
    N_("Score on paper, or on another device."),
    N_("Another page changes or deletes the store of this device. Reload the page."),
    N_("The browser closed the store of this device. Reload the page before you go on."),
    N_("This device has no room left. Nothing was saved. Free some space, then save again."),
    N_("The store of this page was closed. Nothing was saved. Reload the page."),
    N_("Another tab holds an older store open. Close the other tabs of this page."),
    N_("This device could not save. Nothing was saved. Write it on paper and reload the page."),
    N_("The instrument shows {resolution} {unit}: enter the nearest 1/{finest} {unit}."),
    N_("Sending."),
    N_("{count} is saved on this device."),
    N_("{count} are saved on this device."),
    N_("Sent when there is a signal."),
    N_("The server does not take all photographs."),
    N_("Save the file of this device and hand it in at the desk."),
    N_("Everything is sent."),
    N_("Everything is sent. {count} is kept aside: somebody at the desk will look at it."),
    N_("Everything is sent. {count} are kept aside: somebody at the desk will look at it."),
    N_(
        "The server cannot take some of it just now. Everything else goes, and this is tried "
        "again by itself."
    ),
    N_("Sign in on this device first. What is saved on it stays."),
    N_("There is no signal, or no answer. What is saved on this device stays."),
    N_("The server's answer cannot be read. Try again; if it stays so, tell the office."),
    N_("Some of it is not sent yet. Send it first, or save the file of this device."),
    N_("Photo of {title}"),
    N_("Take a photo"),
    N_("Take a photo of {title}"),
    N_("The photo is being kept."),
    N_("Take it again"),
    N_("No photo"),
    N_("Send again"),
    N_("Send the photo of {title}, {time}, again"),
    N_("Photo of {title}, {time}"),
    N_("Sent."),
    N_("✕ Kept here, not taken by the server: {sentence}"),
    N_("Not sent yet."),
    N_("Taken at {time}, by the camera's clock."),
    N_("Taken at {time}, by the camera's clock, its time zone not known."),
    N_("Taken at {time}, by the date of the file."),
    N_(
        "The camera was opened for {what} of {whose}, and no photo was kept. Take it again, "
        "or say that there is none."
    ),
    N_(
        "The camera was opened for {what}, and no photo was kept. Take it again, or say that "
        "there is none."
    ),
    N_("The photographs wait for a connection."),
    N_("The server answered {status} and no reason."),
    N_("There is no room left on this device. Send what is on it first, then go on."),
    N_(
        "This picture has {width} × {height} pixels: nothing can be seen on it. Take the "
        "photo again. What is scored is kept."
    ),
    N_(
        "This photo is in the HEIC format, which this device's browser cannot read. Set the "
        "camera to save JPEG and take it again. The photo stays where the camera put it, and "
        "what is scored is kept."
    ),
    N_(
        "This file is not a picture that can be read here. Take the photo again or choose a "
        "JPEG file. What is scored is kept."
    ),
    N_(
        "This browser cannot make a JPEG of the photo. Bring the browser up to date, or take "
        "the photo with the device's camera and hand it in at the desk. What is scored is "
        "kept."
    ),
    N_("The browser keeps what is saved here, even when room runs short."),
    N_(
        "The browser may clear what is saved here when room runs short. Put the page on the "
        "home screen, and send whenever there is a signal."
    ),
    N_("A test entry was saved and read back."),
    N_("A test entry could not be saved. Score on paper, or on another device."),
    N_("The pages open without a signal."),
    N_("The pages are not kept yet. Stay where there is a signal and look again in a minute."),
    N_("The run, its standard and its trainees are on this device."),
    N_("The leave to send has run out. Renew the pack."),
    N_("The run is not whole on this device. Take it up again."),
    N_("The device's clock agrees with the server's."),
    N_("The device's clock is wrong. Set its date, time and time zone."),
    N_("This was scored in another tab meanwhile. Look at it, then score it again."),
    N_("Hold point: {title}"),
    N_("Accepted: the next step may begin."),
    N_("Not accepted: mend it, then look again."),
    N_("✓ Stands"),
    N_("✓ Accepted"),
    N_("✕ Not accepted"),
    N_("Waits"),
    N_("To be looked at"),
    N_("Not scored"),
    N_("✓ Met"),
    N_("✕ Not met"),
    N_("– Not applicable"),
    N_("To be finished"),
    N_("{one} and {other}"),
    N_("Sign in once on this device to send."),
)
