"""A form as a browser sends it: what its page shows, and the hidden memory of that."""

from typing import Any

from django import forms


def as_shown(form: forms.BaseForm) -> dict[str, Any]:
    sent: dict[str, Any] = {}
    for bound in form:
        value = bound.value()
        if isinstance(bound.field, forms.BooleanField):
            sent |= {bound.html_name: "on"} if value else {}
        else:
            sent[bound.html_name] = "" if value is None else value
        if bound.field.show_hidden_initial:
            sent[bound.html_initial_name] = "" if value is None else value
    return sent
