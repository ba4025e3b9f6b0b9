"""The table of rights in words, for its page of help."""

from collections.abc import Iterator
from dataclasses import dataclass

from studio import access
from studio.models import Role

RELATIONS = {
    access.OWN: "one’s own",
    access.TAUGHT: "of a student whom one teaches",
    access.CLASSMATE: "of a student in one’s class",
    access.STUDENT: "of another student",
    access.OTHER: "of anybody else",
    access.KEPT: "kept by somebody to themselves",
}
ROLES = dict(Role.choices) | {access.AT_DEVICE: "studio device"}
SUBJECTS = {
    "studio": "The studio",
    "person": "People",
    "invitation": "Invitations",
    "short_code": "Short codes",
    "device": "Studio devices",
    "class": "Classes",
    "kiln": "Kilns",
    "furniture": "Moulds and shelves",
    "glass": "Glass",
    "stock": "The glass shelf",
    "list": "Lists",
    "memory": "What controllers remember",
    "schedule": "Schedules",
    "firing": "Firings",
    "waiting": "Pieces that wait",
    "piece": "Pieces",
    "step": "Steps of a piece",
    "review": "Reviews",
    "comment": "Comments",
    "prices": "Prices",
    "cost": "Costs",
    "statement": "Statements",
    "feed": "Calendar feeds",
}
ACTS = {
    "studio.change": "change its page, its rules and its safety lines",
    "person.see": "see who is here",
    "person.invite": "invite somebody",
    "person.change": "change a name, an address, a unit",
    "person.set_role": "give another role",
    "person.deactivate": "close an account, and open it again",
    "person.reset_password": "make a link for a new password",
    "person.make_anonymous": "make somebody who left anonymous",
    "person.save_list": "save the list of people as a file",
    "person.see_progress": "see how a student comes on",
    "invitation.change": "see and withdraw an invitation",
    "short_code.take_away": "take a short code away",
    "device.set_up": "make a computer or tablet a studio device",
    "device.take_away": "take a studio device away",
    "class.make": "make a class",
    "class.see": "see a class",
    "class.change": "change a class, and see who fired what in it",
    "class.join": "join a class",
    "kiln.see": "see kilns and what was fired in them",
    "kiln.change": "change a kiln’s record",
    "kiln.note_service": "write in its diary",
    "kiln.measure": "note what was measured in it",
    "furniture.see": "see moulds and shelves",
    "furniture.change": "put a mould or a shelf on record, change it, put it away",
    "furniture.coat": "note that one was coated anew",
    "glass.see": "see the kinds of glass",
    "glass.change": "change a kind of glass",
    "stock.write": "receive, count and sell glass, and note what broke",
    "stock.cut": "take glass for a piece",
    "stock.take_back": "take back what was noted",
    "list.bring_in": "bring in a list that one may write by hand too",
    "memory.key": "note what was keyed into a controller’s memory",
    "schedule.see": "see schedules",
    "schedule.write": "write a schedule",
    "schedule.revise": "revise a schedule",
    "schedule.archive": "put a schedule away",
    "firing.see": "see the logbook: who, when, which kiln, which schedule",
    "firing.see_load": "see a firing’s pieces and photographs",
    "firing.write": "plan a firing, put a piece into it, note readings while it fires",
    "firing.change": "change what is on record of a firing",
    "firing.open": "note that a kiln was opened",
    "firing.write_for_others": "write down what somebody else fires",
    "firing.clear": "clear a planned firing or return it",
    "firing.let_go_uncleared": "let a firing go without clearing",
    "waiting.load": "plan a firing of pieces that wait",
    "piece.see": "see a piece and its firings",
    "piece.read_remarks": "read what stands in words with its verdict and its faults",
    "piece.judge": "judge a piece",
    "piece.store": "put a finished piece on a storage shelf, and note that it left",
    "piece.see_overdue": "be told how many pieces were not collected in time",
    "piece.give_away": "hand over or discard a piece that was not collected",
    "piece.test_fit": "say that a piece tests whether its glasses fit",
    "piece.review": "review a piece",
    "step.change": "plan the steps of a piece, change, skip and end them",
    "step.see_wanted": "see what is wanted when",
    "review.see": "see a review and its marks",
    "prices.see": "see prices and what is charged",
    "prices.change": "set prices and what is charged",
    "cost.see": "see what a firing cost and what its makers are charged",
    "cost.see_all": "see what a year cost and what was charged",
    "statement.see": "see what a member is charged for a month",
    "statement.see_all": "see what all members are charged for a month",
    "comment.read": "read and write comments on a firing",
    "comment.take_back": "take a comment back",
    "feed.change": "renew and remove a calendar feed",
}


@dataclass(frozen=True)
class RightLine:
    """An act with what each role may do it to: None for never, empty for anything."""

    act: str
    roles: list[tuple[str, list[str] | None]]


def rights_in_words() -> Iterator[tuple[str, list[RightLine]]]:
    """By subject, each with its acts, in the order of the table."""
    lines: dict[str, list[RightLine]] = {}
    for act, row in access.TABLE.items():
        subject = act.partition(".")[0]
        roles = [(ROLES[role], _in_words(row[role])) for role in row]
        lines.setdefault(subject, []).append(RightLine(ACTS.get(act, act), roles))
    for subject, found in lines.items():
        yield SUBJECTS.get(subject, subject), found


def _in_words(allowed: frozenset[str]) -> list[str] | None:
    if not allowed:
        return None
    if allowed >= access.ANY:
        return []
    return [words for relation, words in RELATIONS.items() if relation in allowed]
