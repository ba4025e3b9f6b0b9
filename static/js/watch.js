// The live pages: what a display ought to show, kept right between two answers of the server, with
// or without network, and the ± beside the field of a reading.
"use strict";

const EVERY_S = 10;
const CLOCKS_DIFFER_S = 3;
const AWAY = "away-since";
const DUE = {
  top_reached: "the top is reached",
  top_ends: "the hold at the top ends",
  segments_done: "its segments are done",
  cool_enough: "it is cool enough to open",
};

// The curve's value at some seconds from the start: four figures are a straight piece, six an
// exponential (start, end, first, last, asymptote, constant); the last piece goes on for good.
function curveAt(pieces, seconds) {
  const piece = pieces.find((each) => seconds < each[1]) ?? pieces.at(-1);
  if (!piece) return NaN;
  const [start, end, first, last, asymptote, constant] = piece;
  const since = Math.max(seconds - start, 0);
  if (constant) return asymptote + (first - asymptote) * Math.exp(-since / constant);
  return first + ((last - first) * Math.min(since, end - start)) / (end - start);
}

(() => {
  let ahead = 0; // s by which the server's clock is ahead of this one

  const now = () => Date.now() / 1000 + ahead;
  const inUnit = (celsius, unit) => (unit === "F" ? celsius * 1.8 + 32 : celsius);
  const figure = (value) => String(Math.round(value)).replace("-", "−");

  function duration(seconds) {
    const minutes = Math.round(Math.max(seconds, 0) / 60);
    if (minutes < 60) return `${minutes}\u00a0min`;
    return `${Math.floor(minutes / 60)}\u00a0h\u00a0${String(minutes % 60).padStart(2, "0")}`;
  }

  function write(fire, part, text) {
    const place = fire.querySelector(`[data-part="${part}"]`);
    if (place && place.textContent !== text) place.textContent = text;
  }

  function names(fire) {
    const own = fire.querySelectorAll("[data-stage]");
    if (own.length) return [...own].map((each) => each.textContent);
    return [...document.querySelectorAll("#course tbody th")].map((each) =>
      each.textContent.replace(/^(\d+) /, "Segment $1: "),
    );
  }

  function expected(fire) {
    const told = JSON.parse(fire.dataset.fire);
    return inUnit(curveAt(told.pieces, now() - told.start), fire.dataset.unit);
  }

  function show(fire) {
    const told = JSON.parse(fire.dataset.fire);
    const seconds = now() - told.start;
    const value = expected(fire);
    write(fire, "clock", "Now the display ought to show");
    if (!Number.isNaN(value)) write(fire, "shown", `${figure(value)}\u00a0°${fire.dataset.unit}`);
    const at = told.stages.findIndex(([, end]) => end === null || seconds < end);
    if (at >= 0) {
      const end = told.stages[at][1];
      write(fire, "stage", names(fire)[at]);
      write(fire, "left", end === null ? "–" : duration(end - seconds));
    }
    const next = told.due.find(([, moment]) => moment > seconds);
    write(fire, "due", next ? DUE[next[0]] : "nothing more");
    write(fire, "due-in", next ? duration(next[1] - seconds) : "–");
    if (fire.id !== "now") return;
    document.querySelectorAll("#course tbody tr").forEach((row, index) => {
      if (index === at) row.setAttribute("aria-current", "step");
      else row.removeAttribute("aria-current");
    });
  }

  function showAll() {
    if (!document.hidden) document.querySelectorAll("[data-fire]").forEach(show);
  }

  const live = document.querySelector("[data-live]");

  function look() {
    if (!document.hidden) window.htmx.trigger(live, "look");
  }

  // Unchanged is 304, which swaps nothing.
  document.addEventListener("htmx:configRequest", (event) => {
    if (event.target === live) event.detail.headers["If-None-Match"] = live.dataset.version;
  });
  document.addEventListener("htmx:beforeSwap", (event) => {
    if (event.target !== document.querySelector("#now, #kilns")) return;
    const { xhr } = event.detail;
    if (xhr.status === 304) {
      event.detail.shouldSwap = false;
      return;
    }
    live.dataset.version = xhr.getResponseHeader("ETag") ?? "";
  });
  document.addEventListener("htmx:afterRequest", (event) => {
    if (event.target !== live) return;
    const date = Date.parse(event.detail.xhr.getResponseHeader("Date") ?? "");
    if (Number.isNaN(date)) return;
    const apart = (date - Date.now()) / 1000;
    ahead = Math.abs(apart) > CLOCKS_DIFFER_S ? apart : 0;
    back();
    showAll();
  });
  document.addEventListener("htmx:sendError", away);
  document.addEventListener("htmx:timeout", away);
  document.addEventListener("htmx:oobAfterSwap", showAll);
  document.addEventListener("kept:sent", look);

  // The moment is kept, so that a page that is opened again without a network still tells it.
  function away() {
    const known = Number(sessionStorage.getItem(AWAY));
    const since = known || Date.now();
    if (!known) sessionStorage.setItem(AWAY, String(since));
    const clock = new Date(since).toLocaleTimeString([], { hour: "2-digit", minute: "2-digit", hour12: false });
    network(`No network since ${clock}; what it ought to show is counted by this device’s clock.`);
  }

  function back() {
    if (sessionStorage.getItem(AWAY)) document.dispatchEvent(new Event("network:back"));
    sessionStorage.removeItem(AWAY);
    network("");
  }

  function network(text) {
    document.querySelectorAll('[data-part="network"]').forEach((place) => {
      place.textContent = text;
    });
  }

  document.addEventListener("visibilitychange", () => {
    showAll();
    look();
  });
  setInterval(showAll, 1000);
  setInterval(look, EVERY_S * 1000);
  showAll();
  window.addEventListener("pageshow", look); // once htmx listens, and back by the browser's button

  // ± begins with what the display ought to show, here as that is when the button is pressed.
  document.addEventListener("click", ({ target }) => {
    const field = target.closest("[data-nudge]")?.closest(".nudge").querySelector("input");
    if (field) field.dataset.start = String(expected(document.querySelector("[data-fire]")));
  }, true);
})();
