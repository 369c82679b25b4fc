"""Nothing is there yet: each page says what to do first, and to whom it is left."""

from tests import factories as make

OF_A_TEACHER = {
    "lessons:queue": "once they have joined by your link",
    "reeds:reeds": "No reed yet. Make one",
    "reeds:box": "Make a reed: from the day it is tied",
    "reeds:cane": "Add the bag or the tubes",
    "reeds:own": "Add a number",
    "lessons:lessons": "Note the next one",
    "lessons:term": "Name a term",
    "lessons:letters": "Name a term",
    "terms": "Add a term",
    "people": "Invite somebody, and give them the link",
    "lessons:demonstrations": "Begin with what you explain most often",
    "lessons:phrases": "New words",
    "lessons:comparisons": "Plan a comparison",
}
OF_A_STUDENT = {
    "lessons:desk": "Send a blank or a reed: a photo alone is enough",
    "lessons:send": "A new reed",
    "reeds:reeds": "No reed yet. Make one",
    "reeds:box": "Make a reed: from the day it is tied",
    "lessons:lessons": "ask for the next one",
    "lessons:term": "the teacher names it",
    "lessons:letters": "A teacher may write one",
    "lessons:demonstrations": "Your teacher adds them",
    "reeds:card": "Make me a card",
}
OF_A_GUARDIAN = {
    "lessons:children": "each then stands here with its answer",
    "lessons:letters": "A teacher may write one",
    "reeds:reeds": "No reed was made yet.",
}


def read(client, member, told):
    pages = {name: client.get(member.to(name)).text for name in told}
    return [name for name, words in told.items() if words not in pages[name]]


def test_an_empty_page_says_what_to_do_first(as_member, teacher):
    assert read(as_member(teacher), teacher, OF_A_TEACHER) == []
    student = make.student(studio=teacher.studio, under_age=True)
    assert read(as_member(student), student, OF_A_STUDENT) == []
    guardian = make.guardian(student)
    assert read(as_member(guardian), guardian, OF_A_GUARDIAN) == []
