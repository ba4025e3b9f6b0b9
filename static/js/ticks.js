// Ticks of a keying card stay on this device for half a day, so that a phone that slept has lost
// none. Without this script the boxes can be ticked all the same.
"use strict";

(() => {
  const KEPT_FOR = 12 * 60 * 60 * 1000;
  const card = document.querySelector("[data-ticks]");
  if (!card) return;
  const name = `ticks-${card.dataset.ticks}`;
  const boxes = [...card.querySelectorAll("[data-tick]")];
  const said = card.querySelector("[data-ticked]");
  const off = card.querySelector("[data-untick]");

  const kept = () => {
    try {
      const found = JSON.parse(localStorage.getItem(name));
      return found && Date.now() - found.at < KEPT_FOR ? found.ticked : [];
    } catch {
      return [];
    }
  };
  const keep = (ticked) => {
    try {
      if (ticked.length) localStorage.setItem(name, JSON.stringify({ at: Date.now(), ticked }));
      else localStorage.removeItem(name);
    } catch {
      // A browser that keeps nothing: the ticks hold while the page is open.
    }
  };
  const ticked = () => boxes.filter((box) => box.checked).map((box) => box.dataset.tick);
  const say = () => {
    const count = ticked().length;
    said.textContent = count ? `${count} of ${boxes.length} ticked` : "";
    off.hidden = !count;
  };

  const before = new Set(kept());
  boxes.forEach((box) => {
    box.checked = before.has(box.dataset.tick);
  });
  card.addEventListener("change", () => {
    keep(ticked());
    say();
  });
  off.addEventListener("click", () => {
    boxes.forEach((box) => {
      box.checked = false;
    });
    keep([]);
    say();
  });
  say();
})();
