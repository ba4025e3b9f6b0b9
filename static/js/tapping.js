// A picture on which one taps: shown as wide as its page, and a tap written down as a share of it.
"use strict";

(() => {
  document.querySelectorAll(".tapped").forEach((picture) => {
    const field = picture.querySelector("input[type=image]");
    picture.classList.add("wide");
    field.addEventListener("click", (event) => {
      if (!event.detail) return; // by a key: the numbers say where
      const box = field.getBoundingClientRect();
      const share = (at, from, size) => Math.min(Math.max((at - from) / size, 0), 1);
      const percent = (value) => (value * 100).toFixed(1);
      const { left_percent: left, top_percent: top } = field.form.elements;
      left.value = percent(share(event.clientX, box.left, box.width));
      top.value = percent(share(event.clientY, box.top, box.height));
      if (field.form.elements.place) field.form.elements.place.value = "";
    });
  });
})();
