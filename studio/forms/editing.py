"""Two people who change one record at a time: each saves what they changed, and nothing else."""

from typing import Any

from django import forms
from django.db.models import Manager
from django.utils.functional import cached_property

SEVERAL = (forms.MultipleChoiceField, forms.ModelMultipleChoiceField)


class SavesOwnChanges(forms.BaseModelForm):
    """Mixin for the form of a record: a field left as it was shown keeps what stands there now.

    Beside each field of a record the page carries what was shown in it. What somebody else saved
    meanwhile, in a field that this person did not touch, is therefore not overwritten.
    """

    def __getitem__(self, name: str) -> forms.BoundField:
        bound = super().__getitem__(name)
        if self.instance.pk is not None:
            bound.field.show_hidden_initial = True
        return bound

    @cached_property
    def changed_data(self) -> list[str]:
        return [name for name in self.fields if self._was_changed(self[name])]

    def _clean_fields(self) -> None:
        super()._clean_fields()  # type: ignore[misc]
        if self.instance.pk is None:
            return
        for name in self.cleaned_data:
            if name not in self.changed_data:
                self.cleaned_data[name] = self._stands_now(name)

    def _stands_now(self, name: str) -> Any:
        if hasattr(self.instance, name):
            value = getattr(self.instance, name)
            return value.all() if isinstance(value, Manager) else value
        return self.get_initial_for_field(self.fields[name], name)

    def _was_changed(self, bound: forms.BoundField) -> bool:
        # none chosen sends nothing
        several = isinstance(
            bound.field, forms.MultipleChoiceField | forms.ModelMultipleChoiceField
        )
        remembers = bound.field.show_hidden_initial and not several
        if remembers and bound.html_initial_name not in self.data:
            return True  # not from our page: all of it is meant
        changed: bool = bound._has_changed()  # type: ignore[attr-defined]
        return changed
