// A large file takes a while: how much of it has been sent. Without this script the form is sent
// all the same.
"use strict";

(() => {
  const bar = (form) => form.querySelector("progress");

  document.addEventListener("htmx:xhr:progress", (event) => {
    const progress = bar(event.target);
    if (!progress || !event.detail.lengthComputable) return;
    progress.hidden = false;
    progress.value = event.detail.loaded / event.detail.total;
  });

  document.addEventListener("htmx:sendError", (event) => {
    const progress = bar(event.target);
    if (progress) progress.hidden = true;
  });
})();
