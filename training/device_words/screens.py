"""The screens of scoring on site (static/site/screens/)."""

from django.utils.translation import gettext_noop as N_

WORDS = (
    N_("Scoring {name}"),
    N_("Critical"),
    N_("Start: {title}"),
    N_("Go on: {title}"),
    N_(
        "What is left waits for a hold point that is not accepted. Once the piece is mended, "
        "look at the hold point again."
    ),
    N_(
        "✓ Everything is scored. The result is worked out and signed off at the desk, once "
        "the scores have arrived there."
    ),
    N_("Next: {title}"),
    N_("▲ Cautions of the task"),
    N_("Source: {source}"),
    N_(
        "Local codes and the judgement of a licensed professional come first. Anybody may "
        "stop the work."
    ),
    N_("Start ▶"),
    N_("Next trainee"),
    N_("Next trainee: {name}"),
    N_("Trainees"),
    N_("◀ Trainees"),
    N_("Take {title} off this phone"),
    N_("Ways out"),
    N_("◀ Runs, keep it"),
    N_("It stays here: {what} to send. Nothing is taken off this phone before the server has it."),
    N_("Send what waits"),
    N_("Of this run the server has all that was scored here: {entries}."),
    N_("Nothing of this run was scored here."),
    N_(
        "The run, its entries and its photos go from this phone and stay on the server. While "
        "the run is open it can be taken again."
    ),
    N_("Take it off this phone"),
    N_("Recorded"),
    N_("Yes"),
    N_("No"),
    N_("Answer"),
    N_("The next step hides this one: look before it does."),
    N_("Accepted"),
    N_("Not accepted"),
    N_("Hold point"),
    N_("Levels"),
    N_("How many {thing}"),
    N_("{thing}, allowed: {limits}"),
    N_("One fewer"),
    N_("One more"),
    N_("Save the count"),
    N_("Start now"),
    N_("End now"),
    N_("Note the start first: press “Start now” or write it."),
    N_("The end is not a date and time: write both."),
    N_("Start"),
    N_("End"),
    N_("Allowed: {limits}"),
    N_("Save the times"),
    N_("Time at the site ({zone})."),
    N_("Write why it does not apply."),
    N_("Not applicable"),
    N_("✓ Recorded"),
    N_("Why it does not apply"),
    N_("Record as not applicable"),
    N_("Note"),
    N_("Saved together with what you press or save above."),
    N_("This phone"),
    N_("◀ Runs"),
    N_("{left} to send. All of it is saved on this phone."),
    N_("✓ Everything on this phone has arrived on the server."),
    N_("Send now"),
    N_("No signal?"),
    N_(
        "Save all entries as a file and carry it to the office: it can be read in there. "
        "Photos stay on this phone until they are sent."
    ),
    N_("Save to a file"),
    N_("Another assessor takes this phone"),
    N_(
        "You may sign out now. What is to be sent stays here, locked, under your name, and "
        "goes out by itself when there is a signal. Whoever signs in next scores under their "
        "own name."
    ),
    N_("Sign out, keep what waits"),
    N_("Sign out"),
    N_("Allowed: {limits}."),
    N_("Readings: {readings}."),
    N_("No readings yet."),
    N_("Take reading {count} first."),
    N_("Erase"),
    N_("Take reading"),
    N_("Erase,"),
    N_("other"),
    N_("Other"),
    N_("Marks"),
    N_("Digits"),
    N_("Point"),
    N_("Millimeters"),
    N_("Parts"),
    N_("Parts of an inch"),
    N_("Below zero"),
    N_("Erase the last reading"),
    N_("all criteria"),
    N_("Save, then"),
    N_("{count} of {total}: {reading}"),
    N_("✓ Conforms"),
    N_("✕ Does not conform"),
    N_("◆ Within the guard band"),
    N_("✓ so far"),
    N_("✕ outside"),
    N_("◆ guard band"),
    N_("Scoring on site"),
    N_("On this phone"),
    N_(
        "No run is on this phone yet. Take one below while there is a signal; after that it "
        "opens without one."
    ),
    N_("Take to the site"),
    N_("This phone: send, export, sign out"),
    N_("▲ Saved scores are gone from this phone"),
    N_(
        "It had saved {entries} and holds {found} of them. The browser threw its store away, "
        "or somebody cleared it."
    ),
    N_(
        "{entries} had not been sent when it was last seen. Compare each trainee's list with "
        "your notes, and score again what is missing."
    ),
    N_("All of it had been sent, so that nothing is missing on the server."),
    N_("I have read this"),
    N_("{count} trainee"),
    N_("{count} trainees"),
    N_("renew to send"),
    N_("sends until {moment}"),
    N_("Done with a run?"),
    N_("Take off this phone"),
    N_("Locked"),
    N_(
        "Nothing is lost: it stays here and is sent when there is a signal. To open it, its "
        "assessor signs in and presses the key."
    ),
    N_("Unlock"),
    N_("Looking for runs…"),
    N_("There is no open run with a sealed standard that you may score."),
    N_("Take again"),
    N_("Take"),
    N_("Not on this phone"),
    N_(
        "What this address leads to is not on this phone. It may belong to another run, or "
        "the run was not taken here."
    ),
    N_("Runs on this phone"),
    N_("Stages"),
    N_("Taken back: {title}"),
    N_("Saved: {title}"),
    N_("Undo"),
    N_("Undo: {title}"),
    N_("{count} entry"),
    N_("{count} entries"),
    N_("{count} photo"),
    N_("{count} photos"),
    N_("{title}: {done} of {total} scored"),
    N_("{title}: {done} of {total} scored, hold point accepted"),
    N_("{title}: {done} of {total} scored, hold point not accepted yet"),
    N_("{count} of {total}"),
    N_("✓ This stands from the attempt before: it is not scored again."),
    N_("✓ Accepted by another assessor. Give your own word only if you saw it too."),
    N_("All criteria"),
    N_(
        "This criterion is marked critical. The pass rule of this standard does not ask for "
        "the critical criteria: it counts in the scores like any other."
    ),
    N_(
        "This criterion is critical: as it stands, the standard is not met, whatever else is "
        "scored."
    ),
    N_(
        "This criterion is critical, and by your score it is not met. The score of another "
        "assessor may still change that."
    ),
    N_("What is scored here does not count before the hold point is accepted."),
    N_("Look at the hold point first; what is scored here does not count before it is accepted."),
    N_("Stop: this waits for “{title}”."),
    N_("The next steps hide what is looked at there."),
    N_("Go to the hold point"),
    N_("Scored the wrong thing?"),
    N_("Take back what is recorded"),
    N_("Criteria"),
    N_("◀ Back"),
    N_("All"),
    N_("Next ▶"),
    N_(
        "Look once more and correct it if you misread. If going on would hurt somebody or the "
        "stone, stop the work and make it safe. Else score the rest, so that the trainee "
        "learns what to practise."
    ),
    N_("✓ Everything is scored"),
    N_("Waits for a hold point"),
    N_("Sends until {moment}."),
    N_("The leave to send from this phone ran out on {moment}."),
    N_(
        "You can go on scoring: everything is kept here. To send it, come where there is a "
        "signal, sign in, and press the key."
    ),
    N_("Renew and send"),
    N_("Looking whether this phone is ready…"),
    N_("○ Not ready yet: {count} thing to do"),
    N_("○ Not ready yet: {count} things to do"),
    N_("✓ Ready for the site"),
    N_("Ready for the site?"),
)
