// What was noted beside a kiln, kept on this device until the server has taken it: sent once, in
// order, with the time at which it was noted, under the name of whoever noted it. Every page sends
// and tells; kept_forms.js hands over what is noted.
"use strict";

(() => {
  const AGAIN_MS = 10_000;
  const PATIENCE_MS = 30_000;
  const PATIENCE_WITH_FILES_MS = 180_000;
  const SENT_SHOWN_MS = 5 * 60_000;
  const place = document.getElementById("kept");
  const person = place.dataset.person;
  const elsewhere = "BroadcastChannel" in window ? new BroadcastChannel("kept") : null;
  let hindrance = ""; // why what waits is not sent, one of WHY
  let sending = false;
  let again = false;

  // The store

  const opened = new Promise((resolve, reject) => {
    const asked = indexedDB.open("kept", 1);
    asked.onupgradeneeded = () => asked.result.createObjectStore("notes", { keyPath: "id", autoIncrement: true });
    asked.onsuccess = () => resolve(asked.result);
    asked.onerror = () => reject(asked.error);
  });
  let ready = false;
  opened.then(() => (ready = true), () => {});

  async function store(mode, act) {
    const transaction = (await opened).transaction("notes", mode);
    const asked = act(transaction.objectStore("notes"));
    return new Promise((resolve, reject) => {
      transaction.oncomplete = () => resolve(asked.result);
      transaction.onabort = () => reject(transaction.error);
    });
  }
  const all = () => store("readonly", (notes) => notes.getAll());
  const put = (note) => store("readwrite", (notes) => notes.put(note));
  const remove = (note) => store("readwrite", (notes) => notes.delete(note.id));
  const waiting = async () => (await all()).filter((note) => note.person === person && note.state === "waiting");

  // Sending

  // crypto.randomUUID is missing where a studio is reached by plain http.
  function freshKey() {
    const hex = [...crypto.getRandomValues(new Uint8Array(16))].map((byte) => byte.toString(16).padStart(2, "0"));
    return hex.join("");
  }

  async function ask(address, options, patience) {
    const control = new AbortController();
    const bell = setTimeout(() => control.abort(), patience);
    try {
      return await fetch(address, { credentials: "same-origin", signal: control.signal, ...options });
    } finally {
      clearTimeout(bell);
    }
  }

  function post(note, token) {
    const body = new FormData();
    for (const [name, value] of note.fields) body.append(name, value);
    body.append("form_key", note.key);
    body.append("noted_by", note.person);
    body.append("noted_at", new Date(note.notedAt).toISOString());
    body.append("sent_at", new Date().toISOString());
    const large = note.fields.some(([, value]) => value instanceof Blob);
    const options = { method: "POST", body, headers: { "X-CSRFToken": token } };
    return ask(note.address, options, large ? PATIENCE_WITH_FILES_MS : PATIENCE_MS);
  }

  // What a page says of why: at its fields, or in a word.
  async function reason(answer) {
    const page = new DOMParser().parseFromString(await answer.text(), "text/html");
    const told = [...page.querySelectorAll("main .errors li, main .errorlist li, main .message.error")];
    const words = (told.length ? told : [...page.querySelectorAll("main h1, main h1 ~ p")]).map((each) => each.textContent.trim());
    return words.join(" ") || `The server refused it (${answer.status}).`;
  }

  // Whether the next one may follow.
  async function sent(note, token) {
    const answer = await post(note, token);
    if (answer.status === 201) {
      await put({ ...note, state: "sent", sentAt: Date.now(), fields: [] });
    } else if (answer.redirected || [401, 408, 409, 429].includes(answer.status) || answer.status >= 500) {
      hindrance = "busy";
      return false;
    } else {
      const refused = { ...note, state: "refused", said: await reason(answer) };
      await put(refused);
      document.dispatchEvent(new CustomEvent("kept:refused", { detail: refused }));
    }
    return true;
  }

  async function sendAll() {
    let some = false;
    for (let [note] = await waiting(); note; [note] = await waiting()) {
      const who = await (await ask(place.dataset.ask, { cache: "no-store" }, PATIENCE_MS)).json();
      hindrance = who.person === null ? "signed_out" : String(who.person) === person ? "" : "somebody_else";
      if (hindrance || !(await sent(note, who.token))) break;
      some = true;
      await draw();
    }
    if (some) {
      elsewhere?.postMessage("changed");
      document.dispatchEvent(new Event("kept:sent"));
    }
  }

  // One tab at a time; where locks are missing, the key of each note still makes it count once.
  async function send() {
    again = sending;
    if (sending || !person) return draw();
    sending = true;
    try {
      if (!navigator.locks) await sendAll();
      else await navigator.locks.request("kept", { ifAvailable: true }, (lock) => lock && sendAll());
    } catch {
      hindrance = "away";
    }
    sending = false;
    await draw();
    if (again) await send();
  }

  // What kept_forms.js hands over; it adds `mend`, which gives the act that mends a note here.

  const kept = { person, isReady: () => ready && Boolean(person), add };
  window.kept = kept;

  async function add(note) {
    await put({ ...note, key: note.key ?? freshKey(), person, state: "waiting" });
    elsewhere?.postMessage("changed");
    await draw();
    send();
  }

  // Telling

  const clock = (moment) =>
    new Date(moment).toLocaleString([], {
      ...(Date.now() - moment > 12 * 3600_000 && { weekday: "short" }),
      hour: "2-digit",
      minute: "2-digit",
      hour12: false,
    });

  function button(words, act) {
    const made = document.createElement("button");
    made.type = "button";
    made.textContent = words;
    made.addEventListener("click", act);
    return made;
  }

  function mending(note) {
    if (kept.mend?.(note)) return button("Mend it", kept.mend(note));
    const link = document.createElement("a");
    link.className = "button";
    link.href = note.byHand;
    link.textContent = "Write it by hand";
    return link;
  }

  function line(note) {
    const entry = document.createElement("li");
    const words = document.createElement("span");
    const state = { waiting: "not sent yet", refused: `not taken: ${note.said}`, sent: `sent ${clock(note.sentAt)}` }[note.state];
    words.textContent = `${note.what}: ${note.says} · noted ${clock(note.notedAt)} · ${state}`;
    entry.append(words);
    if (note.state !== "refused") return entry;
    const acts = document.createElement("div");
    acts.className = "row";
    const discard = button("Discard", async () => {
      await remove(note);
      elsewhere?.postMessage("changed");
      draw();
    });
    acts.append(mending(note), discard);
    entry.append(acts);
    return entry;
  }

  const WHY = {
    away: "Kept on this device. It is sent by itself when the network is back.",
    busy: "Kept on this device. The server could not take it just now; it is sent again by itself.",
    signed_out: "Nobody is signed in any more. It is kept on this device and sent once you have signed in again.",
    somebody_else: "Somebody else is signed in now. It is kept on this device and sent once you are signed in again.",
  };

  async function draw() {
    const notes = await all().catch(() => []);
    const old = notes.filter((note) => note.state === "sent" && Date.now() - note.sentAt > SENT_SHOWN_MS);
    await Promise.all(old.map(remove));
    const own = notes.filter((note) => note.person === person && !old.includes(note));
    const count = (state) => own.filter((note) => note.state === state).length;
    const theirs = notes.filter((note) => note.person !== person && note.state !== "sent").length;
    const heading = [
      count("waiting") && `${count("waiting")} not sent yet`,
      count("refused") && `${count("refused")} not taken`,
      !own.length && theirs && `${theirs} not sent yet`,
    ].filter(Boolean);
    place.hidden = !own.length && !theirs;
    place.querySelector("h2").textContent = heading.join(", ") || "All is sent";
    const list = place.querySelector("ul");
    list.replaceChildren(...own.map(line));
    list.hidden = !own.length;
    const why = [
      count("waiting") && WHY[hindrance],
      theirs && `Kept on this device until whoever noted it is signed in: ${theirs}.`,
    ].filter(Boolean);
    const foot = place.querySelector("p");
    foot.textContent = why.join(" ");
    foot.hidden = !why.length;
    place.querySelector("a").hidden = hindrance !== "signed_out" || !count("waiting");
  }

  // When

  addEventListener("online", send);
  addEventListener("pageshow", send);
  document.addEventListener("visibilitychange", () => document.hidden || send());
  document.addEventListener("network:back", send);
  elsewhere?.addEventListener("message", async () => {
    await draw();
    document.dispatchEvent(new Event("kept:sent"));
  });
  setInterval(async () => {
    if (!document.hidden && (await waiting().catch(() => [])).length) send();
  }, AGAIN_MS);
})();
