// A load that is scanned in: tickets one after the other, however quickly a scanner types them, the
// camera where the browser reads codes by itself, and the list kept as it stands on other phones.
"use strict";

(() => {
  const EVERY_S = 5;
  const SAME_AGAIN_S = 4;
  const list = () => document.getElementById("together");
  const form = document.querySelector("[data-scan]");
  const words = document.getElementById("scanned");
  const waiting = [];
  let sending = false;

  function tell(text) {
    const told = document.createElement("p");
    told.className = "message warning";
    told.textContent = text;
    words.replaceChildren(told);
  }

  async function send(code) {
    const body = new URLSearchParams({ code });
    body.set("csrfmiddlewaretoken", form.elements.csrfmiddlewaretoken.value);
    const answer = await fetch(form.action, { method: "POST", body, headers: { "HX-Request": "true" } });
    const text = await answer.text();
    if (!answer.ok || /^\s*<!doctype/i.test(text)) throw new Error("not taken");
    const parts = document.createElement("template");
    parts.innerHTML = text;
    list().replaceWith(parts.content.querySelector("#together"));
    words.replaceChildren(parts.content);
    return !words.querySelector("[data-refused]");
  }

  // On a studio device there is no such form: each save goes its usual way, and asks who.
  // What is typed while an answer is on its way waits for its turn; what was refused comes back.
  async function sendAll() {
    if (sending) return;
    sending = true;
    const field = form.elements.code;
    while (waiting.length) {
      const code = waiting.shift();
      let back = false;
      try {
        back = !(await send(code));
      } catch {
        tell(`“${code}” was not sent: no network, or you are signed out. Send it again.`);
        back = true;
      }
      if (back && !field.value && !waiting.length) {
        field.value = code;
        field.select();
      }
    }
    sending = false;
  }

  function put(code) {
    waiting.push(code);
    sendAll();
  }

  if (form) {
    form.addEventListener("submit", (event) => {
      event.preventDefault();
      const field = form.elements.code;
      const code = field.value.trim();
      field.value = "";
      field.focus();
      if (code) put(code);
    });
  }

  async function look() {
    if (document.hidden || sending) return;
    try {
      const answer = await fetch(location.pathname, {
        headers: { "HX-Request": "true", "If-None-Match": list().dataset.version },
      });
      const text = answer.status === 200 ? await answer.text() : "";
      if (sending || !text.includes('id="together"') || /^\s*<!doctype/i.test(text)) return;
      const parts = document.createElement("template");
      parts.innerHTML = text;
      list().replaceWith(parts.content.querySelector("#together"));
    } catch {
      // No network: the next look tells.
    }
  }
  setInterval(look, EVERY_S * 1000);
  document.addEventListener("visibilitychange", look);

  const camera = document.querySelector("[data-camera]");
  const seen = document.querySelector("[data-seen-by-camera]");
  let stream = null;
  let last = { code: "", at: 0 };

  function stop() {
    stream.getTracks().forEach((track) => track.stop());
    stream = null;
    seen.hidden = true;
    camera.textContent = "Scan with the camera";
  }

  async function read(detector) {
    if (!stream) return;
    try {
      const [found] = await detector.detect(seen);
      const now = Date.now() / 1000;
      if (found && (found.rawValue !== last.code || now - last.at > SAME_AGAIN_S)) {
        put(found.rawValue);
        navigator.vibrate?.(80);
      }
      if (found) last = { code: found.rawValue, at: now };
    } catch {
      // The picture is not there yet.
    }
    setTimeout(read, 250, detector);
  }

  async function offerCamera() {
    if (!form || !camera || !window.BarcodeDetector || !navigator.mediaDevices) return;
    const kinds = await window.BarcodeDetector.getSupportedFormats();
    if (!kinds.includes("qr_code")) return;
    const detector = new window.BarcodeDetector({ formats: ["qr_code"] });
    camera.hidden = false;
    camera.addEventListener("click", async () => {
      if (stream) {
        stop();
        return;
      }
      try {
        stream = await navigator.mediaDevices.getUserMedia({ video: { facingMode: "environment" } });
      } catch {
        tell("The camera was not allowed, or there is none. Key the ten signs instead.");
        return;
      }
      seen.srcObject = stream;
      seen.hidden = false;
      await seen.play();
      camera.textContent = "Stop the camera";
      read(detector);
    });
  }
  offerCamera();
})();
