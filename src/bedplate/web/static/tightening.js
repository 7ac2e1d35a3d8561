// Tightening: one key says that a bolt is done. The next bolt is shown when the server holds this one,
// never before; what could not be sent waits in this browser and blocks the run.

import { add, drop, newId, send, retry, waiting } from "./outbox.js";
import { say } from "./bedplate.js";

const BOUNCE = 200; // ms: a foot switch that chatters is one press
const WATCH = 2500;
let shownAt = performance.now();
let busy = false;

const page = () => document.getElementById("run");
const field = () => document.getElementById("wrench");
const form = () => document.getElementById("bolt-form") || document.getElementById("stage-form");

const unsent = () =>
  waiting().filter((item) => !item.refused && item.url.includes(`/builds/${page().dataset.build}/`));

async function fetched(address) {
  try {
    const response = await fetch(address, { headers: { Accept: "text/html" } });
    if (!response.ok) return null;
    return new DOMParser().parseFromString(await response.text(), "text/html");
  } catch {
    return null;
  }
}

async function go(address) {
  const fresh = await fetched(address);
  const found = fresh && fresh.getElementById("run");
  if (!found) {
    if (fresh) location.assign(address);
    return;
  }
  page().replaceWith(document.adoptNode(found));
  for (const part of [".title-block dl", ".tabs"]) {
    const [old, now] = [document.querySelector(part), fresh.querySelector(part)];
    if (old && now) old.replaceWith(document.adoptNode(now));
  }
  if (address !== location.pathname + location.search) history.pushState(null, "", address);
  ready();
}

function ready() {
  shownAt = performance.now();
  if (field()) field().focus();
  tick();
  hold();
}

// While something is unsent the run stands still.
function hold() {
  const held = unsent();
  const target = form();
  let note = document.getElementById("held");
  if (!held.length) {
    if (note) note.remove();
    if (target) target.removeAttribute("aria-busy");
    return;
  }
  if (!note) {
    note = document.createElement("p");
    note.id = "held";
    note.className = "held";
    document.querySelector(".pull").prepend(note);
  }
  note.textContent = `${held[0].name}: not saved yet. Wait: the next bolt is shown when it is.`;
  if (target) target.setAttribute("aria-busy", "true");
}

function named(body) {
  const group = document.querySelector(".bolt-group");
  const bolt = body.bolt ? ` ${body.bolt}` : "";
  return `${group ? group.textContent.trim() : "This step"}${bolt}`;
}

async function save(target) {
  if (busy || unsent().length) return;
  const body = {};
  for (const [name, value] of new FormData(target)) if (name !== "back") body[name] = String(value);
  body.id = newId();
  body.value = body.angle || body.torque || body.stretch || (body.unknown ? "not known" : "done");
  const error = target.querySelector(".form-error");
  error.hidden = true;
  const item = { url: target.action, body, name: named(body) };
  busy = true;
  target.setAttribute("aria-busy", "true");
  add(item);
  const { receipt, refusal, away } = await send(item);
  busy = false;
  if (receipt) {
    drop(body.id);
    await saved(receipt);
  } else if (refusal) {
    drop(body.id);
    target.removeAttribute("aria-busy");
    error.textContent = [refusal.sentence, refusal.hint].filter(Boolean).join(" ");
    error.hidden = false;
  } else {
    say(`${item.name} is not saved yet. ${away} It stays here and is sent again.`);
    hold();
  }
}

async function saved(receipt) {
  await go(receipt.go);
  const next = receipt.blocked
    ? `Stop. ${receipt.blocked}`
    : receipt.next
      ? `Next: ${receipt.next.name}, ${receipt.next.sets}.`
      : "Every bolt is done.";
  say(`${receipt.done} saved, entry ${receipt.number}. ${next}`);
}

document.addEventListener("submit", (event) => {
  if (!event.target.matches("#bolt-form, #stage-form, .part-form")) return;
  event.preventDefault();
  if (event.target === form() && performance.now() - shownAt < BOUNCE) return;
  save(event.target);
});

// Space in the empty field, or a foot switch's key, is the same as Enter.
const FOOT = new Set(["PageDown", "F13", "F14", "MediaPlayPause"]);
document.addEventListener("keydown", (event) => {
  const target = form();
  if (!target || event.repeat || event.ctrlKey || event.metaKey || event.altKey) return;
  const inField = event.target === field();
  const elsewhere = event.target.closest("input, textarea, select, button, a, summary");
  const spaced = event.key === " " && ((inField && field().value === "") || !elsewhere);
  if (spaced || FOOT.has(event.key)) {
    event.preventDefault();
    target.requestSubmit();
  } else if (event.key === "Enter" && !elsewhere) {
    event.preventDefault();
    target.requestSubmit();
  } else if (event.key === "Escape" && field()) {
    field().focus();
  } else if (/^[0-9.,]$/.test(event.key) && !elsewhere) {
    field().focus();
  }
});

document.addEventListener("bedplate-saved", (event) => {
  if (event.detail.go) saved(event.detail);
});

function tick() {
  for (const clock of document.querySelectorAll(".clock[data-until]")) {
    const left = Math.round((new Date(clock.dataset.until) - Date.now()) / 1000);
    const size = Math.abs(left);
    const shown = `${Math.floor(size / 60)}:${String(size % 60).padStart(2, "0")}`;
    clock.classList.toggle("over", left < 0);
    clock.querySelector(".left").textContent = left < 0 ? `${shown} over its time, nothing` : shown;
  }
}

// Two people: what the other device said is shown here too.
async function look() {
  if (busy || unsent().length || document.hidden) return;
  if ((field() && field().value) || document.querySelector("#run details[open]")) return;
  const address = location.pathname + location.search;
  const fresh = await fetched(address);
  const found = fresh && fresh.getElementById("run");
  // An answer that was on its way while a bolt was saved is older than what is shown.
  if (busy || !found || Number(found.dataset.count) <= Number(page().dataset.count)) return;
  if (field() && field().value) return;
  await go(address);
}

setInterval(tick, 1000);
setInterval(look, WATCH);
addEventListener("popstate", () => location.reload());
retry();
ready();
