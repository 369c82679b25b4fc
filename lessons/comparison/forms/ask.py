"""The form of a question asked of a term."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _


class AskForm(forms.Form):
    """How reeds came out, and with what that may go."""

    outcome = forms.ChoiceField(label=_("How reeds came out"))
    lot = forms.ChoiceField(
        label=_("Of which cane"),
        required=False,
        help_text=_("Of one lot alone, where you mean that it may be different there."),
    )
    factor = forms.MultipleChoiceField(
        label=_("Does it go with"),
        widget=forms.CheckboxSelectMultiple,
        error_messages={"required": _("Choose at least one thing in which reeds differ.")},
    )

    def __init__(
        self,
        outcomes: Mapping[str, str],
        factors: Mapping[str, str],
        lots: Iterable[str],
        *args: Any,  # noqa: ANN401  # as Django calls it
        **kwargs: Any,  # noqa: ANN401
    ) -> None:
        super().__init__(*args, **kwargs)
        self.fields["outcome"].choices = list(outcomes.items())  # type: ignore[attr-defined]  # a ChoiceField
        self.fields["factor"].choices = list(factors.items())  # type: ignore[attr-defined]
        every: list[tuple[str, object]] = [("", _("all")), *((lot, lot) for lot in lots)]
        self.fields["lot"].choices = every  # type: ignore[attr-defined]

    def clean(self) -> dict[str, Any]:
        """Refuse to ask whether something goes with itself."""
        cleaned = super().clean() or {}
        about = str(cleaned.get("outcome", "")).removeprefix("within:").removeprefix("without:").split(":")[0]
        if about and about in cleaned.get("factor", []):
            self.add_error("factor", _("That is one and the same thing: choose something else."))
        if cleaned.get("lot") and "lot" in cleaned.get("factor", []):
            self.add_error("lot", _("To compare the lots themselves, ask of all cane."))
        return cleaned
