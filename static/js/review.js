// Keys of the review desk: each does what a button or a field of the page does too.
"use strict";

(() => {
  const form = document.querySelector("[data-review]");
  if (!form) return;
  const write = (target) => target.matches("textarea, input:not([type=radio]), select");

  document.addEventListener("keydown", (event) => {
    if (event.key === "Enter" && (event.ctrlKey || event.metaKey)) {
      event.preventDefault();
      form.requestSubmit(form.querySelector("button[name=next]"));
      return;
    }
    if (event.key === "Escape") {
      document.activeElement.blur();
      return;
    }
    if (event.ctrlKey || event.altKey || event.metaKey || write(event.target)) return;
    if (/^[1-5]$/.test(event.key)) {
      form.querySelectorAll("input[name=verdict]")[Number(event.key) - 1].click();
    } else if (event.key === "m") {
      const mark = form.querySelector("input[name^=mark]:checked, input[name^=mark]");
      if (mark) mark.focus();
    } else if (event.key === "c") {
      form.elements.comment.focus();
    } else if (event.key === "j" || event.key === "k") {
      const way = document.querySelector(event.key === "j" ? "a[rel=next]" : "a[rel=prev]");
      if (way) way.click();
      return;
    } else {
      return;
    }
    event.preventDefault();
  });
})();
