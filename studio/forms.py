"""Forms about a studio's people: each cleans what was sent and nothing else."""

from __future__ import annotations

import unicodedata
from typing import Any

from django import forms
from django.contrib.auth.password_validation import validate_password
from django.core.exceptions import ValidationError
from django.core.validators import MaxValueValidator, MinValueValidator
from django.http import HttpRequest
from django.utils import timezone
from django.utils.formats import number_format
from django.utils.translation import gettext_lazy as _

from studio.actions import Newcomer
from studio.addresses import TOO_OFTEN, may_be_asked
from studio.asked import LONGEST_NUMBER
from studio.models import CHANGEABLE_ROLES, Invitation, Member, Person, Role, Studio, Term
from studio.password_forms import PASSWORD_HELP
from studio.time_zones import ZoneSelect, places_and_utc
from studio.typed import as_user_name


class OneLine(forms.CharField):
    """A line of text: what was pasted with breaks in it becomes one line."""

    def to_python(self, value: Any) -> str:  # noqa: ANN401  # as Django's field takes it
        return " ".join(str(super().to_python(value) or "").split())


class Several(forms.ModelMultipleChoiceField):  # type: ignore[type-arg]  # of whatever rows it is given
    """Any number of rows; a number that no row can have is a choice that is not offered."""

    def _check_values(self, value: Any) -> Any:  # noqa: ANN401  # as the field's own
        for one in value:
            if len(str(one)) > LONGEST_NUMBER:
                unknown = self.error_messages["invalid_choice"]
                raise ValidationError(unknown, code="invalid_choice", params={"value": str(one)[:20]})
        return super()._check_values(value)  # type: ignore[misc]  # Django's, without a type


class Email(forms.EmailField):
    """An e-mail address, kept in small letters so that signing in by it does not mind the case."""

    def clean(self, value: Any) -> str:  # noqa: ANN401
        return str(super().clean(value)).lower()


class Decimal(forms.FloatField):
    """A number with a decimal point or comma."""

    widget = forms.TextInput

    def to_python(self, value: Any) -> float | None:  # type: ignore[override]  # noqa: ANN401  # as FloatField's own
        return super().to_python(value.strip().replace(",", ".") if isinstance(value, str) else value)

    def prepare_value(self, value: Any) -> Any:  # noqa: ANN401
        return number_format(f"{value:g}") if isinstance(value, float) else value

    def widget_attrs(self, widget: forms.Widget) -> dict[str, Any]:
        return {"inputmode": "decimal"}


def day_input() -> forms.DateInput:
    return forms.DateInput(format="%Y-%m-%d", attrs={"type": "date"})


def new_password_field() -> forms.CharField:
    return forms.CharField(
        label=_("Password"),
        strip=False,
        max_length=128,
        help_text=PASSWORD_HELP,
        widget=forms.PasswordInput(
            attrs={
                "autocomplete": "new-password",
                "data-password": "",
                "data-show": _("Show it"),
                "data-hide": _("Hide it"),
            }
        ),
    )


# --- inviting and joining ------------------------------------------------------------------------------
class Children(Several):
    """Some of a studio's students under age, each with a box to tick."""

    widget = forms.CheckboxSelectMultiple

    def __init__(self, member: Member, **kwargs: Any) -> None:  # noqa: ANN401
        students = Member.objects.visible_to(member).under_age_students().select_related("person")
        super().__init__(students, label=_("Guardian of"), **kwargs)


class InviteForm(forms.ModelForm[Invitation]):
    """Whom one invites, as what, and for how long the link works; an assistant invites students."""

    name = OneLine(label=_("Name"), max_length=80)
    email = Email(
        label=_("E-mail"),
        required=False,
        help_text=_("Only if the link is to be sent by e-mail. May stay empty."),
    )
    days = forms.IntegerField(
        label=_("The link works for so many days"), min_value=1, max_value=90, initial=14
    )

    class Meta:
        model = Invitation
        fields = ("name", "role", "under_age", "email")
        help_texts = {
            "under_age": _("Photos and recordings wait for the guardian's consent."),
        }

    field_order = ("name", "role", "children", "under_age", "email", "days")

    def __init__(self, by: Member, *args: Any, **kwargs: Any) -> None:  # noqa: ANN401
        super().__init__(*args, **kwargs)
        if not by.leads:
            del self.fields["role"]  # what stands in the model is a student
            return
        self.fields["children"] = Children(
            by,
            required=False,
            help_text=_("Of a guardian: whose reeds they see. Only students under age stand here."),
        )
        self.order_fields(self.field_order)

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        role = cleaned.get("role", Role.STUDENT)
        if cleaned.get("under_age") and role != Role.STUDENT:
            self.add_error("under_age", _("Only a student is marked as under age."))
        if role == Role.GUARDIAN and not cleaned.get("children"):
            self.add_error("role", _("Say whose guardian it is: tick a student under age."))
        if role != Role.GUARDIAN and cleaned.get("children"):
            self.add_error("children", _("Only a guardian has children here."))
        return cleaned


class JoinForm(forms.Form):
    """What a newcomer gives: a name, a user name and a password are enough."""

    name = OneLine(
        label=_("Your name"), max_length=80, widget=forms.TextInput(attrs={"autocomplete": "name"})
    )
    username = OneLine(
        label=_("User name"),
        max_length=60,
        help_text=_("To sign in with. Letters, digits, dots and dashes; large or small does not matter."),
        validators=[as_user_name],
        widget=forms.TextInput(
            attrs={"autocomplete": "username", "autocapitalize": "none", "spellcheck": "false"}
        ),
    )
    password = new_password_field()
    email = Email(
        label=_("E-mail"),
        required=False,
        help_text=_(
            "May stay empty. With it you get answers by e-mail, and can choose a new password alone."
        ),
        widget=forms.EmailInput(attrs={"autocomplete": "email"}),
    )

    def __init__(self, invitation: Invitation, *args: Any, **kwargs: Any) -> None:  # noqa: ANN401
        super().__init__(*args, **kwargs)
        self.invitation = invitation
        self.initial = {
            "name": invitation.name,
            "username": propose_username(invitation.name),
            "email": invitation.email,
        }

    def clean_username(self) -> str:
        username: str = self.cleaned_data["username"].lower()
        taken = Person.objects.filter(username__iexact=username)
        if taken.exists() and not self._is_who_joined(username):
            raise ValidationError(_("This user name is taken. Choose another."))
        return username

    def _is_who_joined(self, username: str) -> bool:
        """Whether this link has already made that person: then the form was sent twice."""
        return Invitation.objects.filter(pk=self.invitation.pk, used_by__person__username=username).exists()

    def clean(self) -> None:
        given = self.cleaned_data
        if given.get("password"):
            person = Person(username=given.get("username", ""), email=given.get("email", ""))
            _check_password(self, given["password"], person)

    def newcomer(self, mailed_to: str) -> Newcomer:
        return Newcomer(**self.cleaned_data, mailed_to=mailed_to)


def _check_password(form: forms.Form, password: str, person: Person) -> None:
    try:
        validate_password(password, person)
    except ValidationError as weak:
        form.add_error("password", weak)


def propose_username(name: str) -> str:
    """Return a user name made from a name, with accents taken off, that nobody has yet."""
    bare = "".join(c for c in unicodedata.normalize("NFKD", name.casefold()) if not unicodedata.combining(c))
    words = "".join(c if c.isalnum() else " " for c in unicodedata.normalize("NFKC", bare)).split()
    base = ".".join(words)[:50] or "player"
    taken = set(Person.objects.filter(username__istartswith=base).values_list("username", flat=True))
    counted = (f"{base}{n}" for n in range(2, len(taken) + 3))
    return next(proposal for proposal in (base, *counted) if proposal not in taken)


class NewPasswordForm(forms.Form):
    """A new password for somebody known."""

    password = new_password_field()

    def __init__(self, person: Person, *args: Any, **kwargs: Any) -> None:  # noqa: ANN401
        super().__init__(*args, **kwargs)
        self.person = person

    def clean(self) -> None:
        if self.cleaned_data.get("password"):
            _check_password(self, self.cleaned_data["password"], self.person)


# --- a member ------------------------------------------------------------------------------------------
class MemberForm(forms.ModelForm[Member]):
    """What a teacher says of a student."""

    name = OneLine(label=_("Name"), max_length=80)

    class Meta:
        model = Member
        fields = ("under_age", "may_act")

    field_order = ("name", "under_age", "may_act")

    def __init__(self, *args: Any, **kwargs: Any) -> None:  # noqa: ANN401
        super().__init__(*args, **kwargs)
        self.fields["name"].initial = self.instance.person.name
        if not self.instance.is_only_here:
            self.fields["name"].disabled = True
            self.fields["name"].help_text = _("Only the student can change it.")


class RoleForm(forms.Form):
    """What a teacher makes of somebody who is here."""

    role = forms.ChoiceField(label=_("Role"), choices=[(role.value, role.label) for role in CHANGEABLE_ROLES])


class ChildrenForm(forms.Form):
    """Whose guardian somebody is."""

    def __init__(self, by: Member, *args: Any, **kwargs: Any) -> None:  # noqa: ANN401
        super().__init__(*args, **kwargs)
        self.fields["children"] = Children(by, required=False)


class WithdrawForm(forms.Form):
    """What is to become of what was sent under a consent that is taken back."""

    at_once = forms.BooleanField(
        label=_("Erase them at once"),
        required=False,
        help_text=_("Else they are erased after 30 days, and shown again if a consent comes before that."),
    )


class ConsentForm(forms.Form):
    """The guardian's consent to photos and recordings, as a teacher was told of it."""

    guardian_name = OneLine(label=_("Guardian's name"), max_length=80)
    given_on = forms.DateField(label=_("Consent given on"), widget=day_input())

    def clean_given_on(self) -> Any:  # noqa: ANN401
        day = self.cleaned_data["given_on"]
        if day > timezone.localdate():
            raise ValidationError(_("A consent cannot be dated in the future."))
        return day


class MeForm(forms.Form):
    """One's own name and e-mail; another e-mail only with the present password."""

    name = OneLine(
        label=_("Your name"), max_length=80, widget=forms.TextInput(attrs={"autocomplete": "name"})
    )
    email = Email(
        label=_("E-mail"),
        required=False,
        help_text=_(
            "May stay empty. With it you get answers by e-mail, and can choose a new password alone."
        ),
        widget=forms.EmailInput(attrs={"autocomplete": "email"}),
    )
    password = forms.CharField(
        label=_("Your present password"),
        strip=False,
        required=False,
        help_text=_("Only needed to change the e-mail, since a new password can be sent there."),
        widget=forms.PasswordInput(attrs={"autocomplete": "current-password"}),
    )

    def __init__(self, person: Person, *args: Any, **kwargs: Any) -> None:  # noqa: ANN401
        super().__init__(*args, **kwargs)
        self.person = person
        self.shown = person.email_wanted or person.email
        self.initial = {"name": person.name, "email": self.shown}

    def clean(self) -> None:
        given = self.cleaned_data
        if given.get("email", self.shown) == self.shown:
            return
        if not self.person.check_password(given.get("password", "")):
            self.add_error("password", _("Type your present password to change the e-mail."))

    def asks_too_often(self, request: HttpRequest) -> bool:
        """Whether a link would be sent to this address, or by this person, again and again."""
        email = self.cleaned_data["email"]
        if email in ("", self.shown, self.person.email) or may_be_asked(request, email):
            return False
        self.add_error("email", TOO_OFTEN)
        return True


# --- the studio ----------------------------------------------------------------------------------------
class TermForm(forms.ModelForm[Term]):
    """A term's name and days."""

    name = OneLine(label=_("Name"), max_length=60)

    class Meta:
        model = Term
        fields = ("name", "starts_on", "ends_on")
        widgets = {"starts_on": day_input(), "ends_on": day_input()}

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        first, last = cleaned.get("starts_on"), cleaned.get("ends_on")
        if first and last and last <= first:
            self.add_error("ends_on", _("The last day comes after the first."))
        return cleaned


class StudioForm(forms.ModelForm[Studio]):
    """The studio's name, where its clock stands, the A it tunes to and what its students see."""

    name = OneLine(label=_("Name"), max_length=80)
    time_zone = forms.ChoiceField(label=_("Time zone"), choices=places_and_utc, widget=ZoneSelect)
    a4_hz = Decimal(
        label=_("The studio's A, in hertz"),
        help_text=_("From 415 to 446. Cents are told against it from now on."),
        validators=[
            MinValueValidator(415, _("From 415 to 446 hertz.")),
            MaxValueValidator(446, _("From 415 to 446 hertz.")),
        ],
    )

    class Meta:
        model = Studio
        fields = ("name", "time_zone", "a4_hz", "foretells_to_students", "teachers_second_step")
