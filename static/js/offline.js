// The worker by which the live pages stand without a network, and whose pages it keeps. A browser
// has none where the studio is reached by plain http.
"use strict";

(async () => {
  const worker = navigator.serviceWorker;
  if (!worker) return;
  const { person, worker: address } = document.getElementById("kept").dataset;
  let keeps = Boolean(worker.controller);
  // Somebody else, or nobody, is signed in: what was kept for the last one goes.
  if (localStorage.getItem("pages-of") !== person) {
    await caches.delete("pages");
    localStorage.setItem("pages-of", person);
    keeps = false;
  }
  if (!document.querySelector("[data-live]")) return;
  worker.register(address).catch(() => {});
  // This page came before there was a worker to keep it.
  if (!keeps) (await worker.ready).active.postMessage({ keep: location.pathname });
})();
