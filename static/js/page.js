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
