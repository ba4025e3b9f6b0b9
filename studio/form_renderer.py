from django.forms.renderers import TemplatesSetting


class StudioRenderer(TemplatesSetting):
    """Every form and field of the site is drawn by the same two templates."""

    form_template_name = "parts/form.html"
    field_template_name = "parts/field.html"
