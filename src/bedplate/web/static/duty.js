// Duty: a knob is turned, the bearing answers. The newest question wins; older answers are dropped.

import { say } from "./bedplate.js";

const knobs = document.getElementById("knobs");
let asked = 0;
let waiting = false;
let again = false;
let still = matchMedia("(prefers-reduced-motion: reduce)").matches;

const answer = () => document.getElementById("answer");
const query = () => new URLSearchParams(new FormData(knobs)).toString();

// Journal, load and crank angle run through the cycle together: one lap in eight seconds.
const LAP = 8000;
let started = performance.now();
let stopped = 0;
let running = [];

function held() {
  running = [...document.querySelectorAll("#answer .runs[data-way]")].map((thing) => ({
    thing,
    way: thing.dataset.way.split(" ").map((place) => place.split(",").map(Number)),
  }));
  const button = document.getElementById("still");
  button.hidden = !running.length;
  button.textContent = still ? "Move" : "Stop moving";
}

function move(now) {
  if (!still) {
    const share = (((now - started) % LAP) + LAP) % LAP / LAP;
    for (const { thing, way } of running) {
      const at = share * way.length;
      const [from, to] = [way[Math.floor(at) % way.length], way[(Math.floor(at) + 1) % way.length]];
      const part = thing.classList.contains("cursor") && to[0] < from[0] ? 0 : at % 1;
      thing.setAttribute("transform", `translate(${from[0] + (to[0] - from[0]) * part} ${from[1] + (to[1] - from[1]) * part})`);
    }
  }
  requestAnimationFrame(move);
}

function tell() {
  for (const shown of knobs.querySelectorAll("output")) {
    const value = Number(document.getElementById(shown.htmlFor.value).value);
    const sign = "signed" in shown.dataset && value >= 0 ? "+" : "";
    const { unit, per } = shown.dataset;
    shown.textContent = `${sign}${per ? (value / Number(per)).toFixed(2) : value} ${unit}`;
  }
}

async function ask() {
  tell();
  if (waiting) {
    again = true;
    return;
  }
  waiting = true;
  const number = ++asked;
  answer().setAttribute("aria-busy", "true");
  const words = query();
  try {
    const response = await fetch(`${knobs.dataset.answer}?${words}`, { headers: { Accept: "text/html" } });
    const found = new DOMParser().parseFromString(await response.text(), "text/html").getElementById("answer");
    if (!found) throw new Error("no answer");
    if (number === asked) {
      answer().replaceWith(document.adoptNode(found));
      history.replaceState(null, "", `?${words}`);
      held();
      listen();
    }
  } catch {
    say("The bearing does not answer: is the server still there?");
    answer().removeAttribute("aria-busy");
  }
  waiting = false;
  if (again) {
    again = false;
    ask();
  }
}

function listen() {
  for (const link of document.querySelectorAll("a[data-bearing]")) {
    link.addEventListener("click", (event) => {
      event.preventDefault();
      knobs.elements.bearing.value = link.dataset.bearing;
      ask();
    });
  }
}

if (knobs) {
  document.getElementById("ask").hidden = true;
  knobs.addEventListener("input", ask);
  knobs.addEventListener("change", async () => {
    await ask();
    const least = document.getElementById("film-least");
    const title = document.getElementById("film-title");
    if (least && title) say(`${title.textContent}: ${least.textContent}`);
  });
  knobs.addEventListener("submit", (event) => {
    event.preventDefault();
    ask();
  });
  document.getElementById("still").addEventListener("click", () => {
    still = !still;
    if (still) stopped = performance.now();
    else started += performance.now() - stopped;
    held();
  });
  held();
  listen();
  requestAnimationFrame(move);
}
