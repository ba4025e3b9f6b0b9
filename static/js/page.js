// Small manners for every page; each works on without this script.
"use strict";

// A form is sent once: its buttons rest while the answer is on its way.
document.addEventListener("submit", (event) => {
  const form = event.target;
  if (event.defaultPrevented || form.matches("[hx-post], [hx-get]")) return;
  if (form.dataset.sent) {
    event.preventDefault();
    return;
  }
  form.dataset.sent = "yes";
});

// Coming back to a page by the browser's own button: its forms can be sent again.
window.addEventListener("pageshow", () => {
  document.querySelectorAll("form[data-sent]").forEach((form) => delete form.dataset.sent);
});

// A number nudged by ±. An empty field begins with its data-start, or with the field that its
// data-start-at names.
document.addEventListener("DOMContentLoaded", () => {
  const read = (text) => Number.parseFloat((text ?? "").replace(",", ".").replace("−", "-"));
  document.querySelectorAll("[data-nudge]").forEach((button) => {
    button.hidden = false;
    const field = button.closest(".nudge").querySelector("input");
    button.addEventListener("click", () => {
      const { start, startAt } = field.dataset;
      const begins = [field.value, start, document.getElementById(startAt)?.value].map(read);
      const value = begins.find((each) => !Number.isNaN(each));
      if (value !== undefined) field.value = String(Math.round(value) + Number(button.dataset.nudge));
    });
  });
});

// A form whose words stay where its answer is none of its own: no network, no right any more, or
// the sign-in page instead of a part of this one.
(() => {
  const told = "This was not taken. What you wrote is still here: copy it, and load the page again.";
  const tell = (form) => {
    const words = form.querySelector(":scope > [role=alert]") || document.createElement("p");
    words.className = "message warning";
    words.setAttribute("role", "alert");
    words.textContent = told;
    form.prepend(words);
  };
  document.addEventListener("htmx:beforeSwap", (event) => {
    const { requestConfig, xhr } = event.detail;
    if (!requestConfig.elt.matches("[data-keeps-words]")) return;
    if (xhr.status < 400 && !/^\s*<!doctype/i.test(xhr.response)) return;
    event.detail.shouldSwap = false;
    tell(requestConfig.elt);
  });
  document.addEventListener("htmx:sendError", (event) => {
    const form = event.detail?.elt;
    if (form?.matches("[data-keeps-words]")) tell(form);
  });
})();
