"""The first visit: the way in three pictures, once."""

from playwright.sync_api import expect


def shown_once(phone, axe_by_day_and_night):
    """See the way, say that it is understood, and see it no more."""
    way = phone.get_by_role("region", name="How it goes")
    expect(way.locator("svg")).to_have_count(3)
    axe_by_day_and_night(phone)
    way.get_by_role("button", name="Understood").tap()
    expect(way).to_be_hidden()
    phone.reload()
    expect(phone.get_by_text("Nothing was sent yet.")).to_be_visible()
    expect(way).to_be_hidden()


def test_the_way_is_shown_until_one_has_understood_it_and_not_again(
    phone, sign_in, student, axe_by_day_and_night
):
    sign_in(phone, student).goto(student.to("lessons:desk"))
    shown_once(phone, axe_by_day_and_night)


def test_a_teachers_first_visit_leads_to_inviting_and_is_over_once_understood(
    phone, sign_in, teacher, axe_by_day_and_night
):
    sign_in(phone, teacher).goto(teacher.to("lessons:queue"))
    shown_once(phone, axe_by_day_and_night)
