// Forms beside a kiln (`data-kept`): what they say is kept on this device first, and sent from
// there. Where a browser keeps nothing, or without this script, they are sent as any other.
"use strict";

(() => {
  const LEFT_OUT = ["csrfmiddlewaretoken", "form_key"];
  const { kept } = window;
  const justNoted = new Set(); // moments: what is refused at once comes back into its form

  const isTick = (field) => field.type === "checkbox" || field.type === "radio";

  function value(field) {
    if (field.type === "hidden" || !field.name || !field.value) return "";
    if (isTick(field)) return field.checked ? field.labels[0].textContent.trim() : "";
    if (field.type === "file") return field.files.length > 1 ? `${field.files.length} pictures` : field.files[0].name;
    if (field.tagName === "SELECT") return field.selectedOptions[0].text;
    return field.value + (field.dataset.unit ? `\u00a0${field.dataset.unit}` : "");
  }

  function noteOf(form) {
    const { mends, notedAt, byHand, kept: what } = form.dataset;
    return {
      ...(mends && { id: Number(mends) }),
      notedAt: Number(notedAt) || Date.now(),
      address: new URL(form.action).pathname,
      byHand,
      what,
      says: [...form.elements].map(value).filter(Boolean).join(", "),
      fields: [...new FormData(form)].filter(([name]) => !LEFT_OUT.includes(name)),
    };
  }

  // A form that shows what stands (`data-stays`) goes on showing it, but for its files.
  function empty(form) {
    if (!("stays" in form.dataset)) form.reset();
    for (const field of form.elements) if (field.type === "file") field.value = "";
  }

  // In the capture phase, before page.js hears of it and lets this form be sent once only.
  const onSubmit = async (event) => {
    const form = event.target;
    if (!form.matches("form[data-kept]") || !kept.isReady()) return;
    event.preventDefault();
    event.stopPropagation();
    const note = noteOf(form);
    justNoted.add(note.notedAt);
    delete form.dataset.mends;
    delete form.dataset.notedAt;
    tell(form, "");
    empty(form);
    try {
      await kept.add(note);
    } catch {
      fill(form, note.fields);
      HTMLFormElement.prototype.submit.call(form);
    }
  };
  document.addEventListener("submit", onSubmit, true);

  // Mending

  // A page that shows another unit by now can't take the figure back.
  function formOf(note) {
    const unit = note.fields.find(([name]) => name === "unit")?.[1];
    return [...document.querySelectorAll("form[data-kept]")].find(
      (form) => new URL(form.action).pathname === note.address && form.elements.unit?.value === unit,
    );
  }

  function tell(form, words) {
    let line = form.querySelector("[data-told]");
    if (!line) {
      line = document.createElement("p");
      line.dataset.told = "";
      line.className = "message error";
      line.setAttribute("role", "alert");
      form.prepend(line);
    }
    line.textContent = words;
    line.hidden = !words;
  }

  function fill(form, fields) {
    form.reset();
    for (const field of form.elements) {
      if (isTick(field)) field.checked = fields.some(([name, was]) => name === field.name && was === field.value);
    }
    const files = new DataTransfer();
    for (const [name, was] of fields) {
      const field = form.elements.namedItem(name);
      if (!field || field.type === "hidden" || field instanceof RadioNodeList || isTick(field)) continue;
      if (!(was instanceof Blob)) field.value = was;
      else if (was.size) {
        files.items.add(was);
        field.files = files.files;
      }
    }
  }

  function mend(note, form) {
    fill(form, note.fields);
    form.dataset.mends = note.id;
    form.dataset.notedAt = note.notedAt;
    tell(form, note.said);
    const around = form.closest("details");
    if (around) around.open = true;
    [...form.elements].find((field) => field.name && field.type !== "hidden").focus();
  }

  kept.mend = (note) => {
    const form = formOf(note);
    return form && (() => mend(note, form));
  };
  document.addEventListener("kept:refused", ({ detail: note }) => {
    if (justNoted.has(note.notedAt) && formOf(note)) mend(note, formOf(note));
  });
})();
