// Measuring: Enter saves, the next station follows, and nothing typed is lost.

import { add, drop, newId, send, retry } from "./outbox.js";
import { say } from "./bedplate.js";

let asked = 0;

const page = () => document.getElementById("measure");
const form = () => document.getElementById("reading-form");
const field = () => document.getElementById("value");

function bodyOf(reading) {
  const body = {};
  for (const [name, value] of new FormData(reading)) if (name !== "back") body[name] = String(value);
  body.id = newId();
  return body;
}

// Put another address in this one's place without losing the keyboard's focus; the last one asked for
// stays, in whichever order they come.
async function go(address, { push = true } = {}) {
  asked += 1;
  const mine = asked;
  let text;
  try {
    const response = await fetch(address, { headers: { Accept: "text/html" } });
    if (!response.ok) throw new Error(response.statusText);
    text = await response.text();
  } catch {
    return false;
  }
  if (mine !== asked) return true;
  const fresh = new DOMParser().parseFromString(text, "text/html");
  const found = fresh.getElementById("measure");
  if (!found) {
    location.assign(address);
    return true;
  }
  page().replaceWith(document.adoptNode(found));
  for (const part of [".title-block dl", ".tabs"]) {
    const [old, now] = [document.querySelector(part), fresh.querySelector(part)];
    if (old && now) old.replaceWith(document.adoptNode(now));
  }
  document.title = fresh.title;
  if (push) history.pushState(null, "", address);
  ready();
  return true;
}

function ready() {
  const first = document.querySelector("details.set[open] [name=size]") || field();
  if (first) first.focus();
}

function station() {
  return document.getElementById("prompt").innerText.replace(/\s*\n\s*/g, ", ");
}

async function save(event) {
  event.preventDefault();
  const reading = form();
  const value = field().value.trim();
  if (!value) return;
  const error = document.getElementById("refused");
  error.hidden = true;
  const item = { url: reading.action, body: bodyOf(reading), name: station() };
  item.body.value = value;
  add(item);
  field().value = "";
  const { receipt, refusal, away } = await send(item);
  if (receipt) {
    drop(item.body.id);
    await saved(receipt);
  } else if (refusal) {
    drop(item.body.id);
    field().value = value;
    field().select();
    error.textContent = [refusal.sentence, refusal.hint].filter(Boolean).join(" ");
    error.hidden = false;
  } else {
    say(`Not saved yet: ${value}. ${away} It stays here and is sent again.`);
    nextWithout();
  }
}

async function saved(receipt) {
  const decided = receipt.fits
    .filter((fit) => fit.verdict !== "not measured")
    .map((fit) => `${fit.name} ${fit.verdict}`)
    .join("; ");
  const doubts = receipt.doubts.map((doubt) => doubt.sentence).join(" ");
  await go(receipt.go);
  const next = form() ? `Next: ${station()}.` : "";
  say([`Saved, entry ${receipt.number}: ${receipt.echo}.`, receipt.words, doubts, decided, next]
    .filter(Boolean).join(" "));
}

// The server is away: go on to the next station of this group with what the page knows.
function nextWithout() {
  const steps = [...document.querySelectorAll("#steps li")];
  const here = steps.findIndex((step) => step.hasAttribute("aria-current"));
  const next = steps[here + 1];
  if (!next) return;
  steps[here].removeAttribute("aria-current");
  next.setAttribute("aria-current", "step");
  const [name, ...at] = next.dataset.name.split(", ");
  const prompt = document.getElementById("prompt");
  prompt.replaceChildren(name);
  if (at.length) {
    const where = document.createElement("span");
    where.className = "at";
    where.textContent = at.join(", ");
    prompt.append(document.createElement("br"), where);
  }
  document.getElementById("where-picture").hidden = true;
  form().elements.feature.value = next.dataset.feature;
  form().elements.station.value = next.dataset.station;
  field().focus();
}

async function follow(id) {
  const link = document.getElementById(id);
  if (link && !(await go(link.href))) say("The program does not answer.");
}

function undo() {
  const details = document.getElementById("undo");
  if (!details) {
    say("There is no value to take back here.");
    return;
  }
  details.open = true;
  details.querySelector("input[type=radio]").focus();
}

document.addEventListener("submit", (event) => {
  if (event.target.matches("#reading-form")) save(event);
});

document.addEventListener("change", (event) => {
  if (event.target.id === "gauge") {
    const query = new URLSearchParams(new FormData(event.target.form));
    go(`${location.pathname}?${query}`);
  }
});

document.addEventListener("click", (event) => {
  const link = event.target.closest("#measure .steps a, #steps a");
  if (!link || event.ctrlKey || event.metaKey || event.shiftKey) return;
  event.preventDefault();
  go(link.href);
});

document.addEventListener("keydown", (event) => {
  const alt = event.altKey && !event.ctrlKey && !event.metaKey;
  const onValue = event.target === field();
  if (event.key === "PageDown" || (alt && event.key === "ArrowRight")) {
    event.preventDefault();
    follow("following");
  } else if (event.key === "PageUp" || (alt && event.key === "ArrowLeft")) {
    event.preventDefault();
    follow("previous");
  } else if (event.key === "z" && (event.ctrlKey || event.metaKey) && !event.shiftKey) {
    if ((onValue && event.target.value === "") || !event.target.closest("input, textarea")) {
      event.preventDefault();
      undo();
    }
  } else if (event.key === "Escape" && field() && !onValue) {
    field().focus();
  }
});

addEventListener("popstate", () => go(location.href, { push: false }));

// A value that had waited was saved: show the station it belongs to, unless something is being typed.
document.addEventListener("bedplate-saved", async (event) => {
  const value = field();
  if (value && value.value) return;
  await saved(event.detail);
});

retry();
ready();
