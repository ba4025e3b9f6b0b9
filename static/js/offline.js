// The worker by which the live pages stand without a network, and whose pages it keeps. A browser
// has none where the studio is reached by plain http.
"use strict";

(() => {
  const worker = navigator.serviceWorker;
  if (!worker) return;
  const { person, worker: address } = document.getElementById("kept").dataset;
  try {
    // Somebody else, or nobody, is signed in: what was kept for the last one goes.
    if (localStorage.getItem("pages-of") !== person) {
      caches.delete("pages");
      localStorage.setItem("pages-of", person);
    }
  } catch {
    return;
  }
  if (!document.querySelector("[data-live]")) return;
  const begins = !worker.controller;
  worker.register(address).catch(() => {});
  // This page came before there was a worker to keep it.
  if (begins) worker.ready.then((found) => found.active.postMessage({ keep: location.pathname }));
})();
