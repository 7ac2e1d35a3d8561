// Values that the server has not said it holds yet. They stay in this browser until it has, keep their
// id, and are sent again under it, so that none is lost and none is taken twice.

const KEY = "bedplate-outbox";
const EVERY = 3000;
const listeners = [];
const onTheirWay = new Set();
let sending = null;
let unstored = null;

export function newId() {
  const bytes = crypto.getRandomValues(new Uint8Array(16));
  return Array.from(bytes, (byte) => byte.toString(16).padStart(2, "0")).join("");
}

export function waiting() {
  if (unstored) return unstored;
  try {
    const held = JSON.parse(localStorage.getItem(KEY) || "[]");
    return Array.isArray(held) ? held : [];
  } catch {
    return [];
  }
}

function keep(items) {
  try {
    localStorage.setItem(KEY, JSON.stringify(items));
    unstored = null;
  } catch {
    unstored = items; // this browser stores nothing; the page itself still holds them
  }
  for (const listener of listeners) listener(items);
}

export function add(item) {
  keep([...waiting(), item]);
}

export function drop(id) {
  keep(waiting().filter((item) => item.body.id !== id));
}

function refused(id, sentence) {
  keep(waiting().map((item) => (item.body.id === id ? { ...item, refused: sentence } : item)));
}

export function onChange(listener) {
  listeners.push(listener);
  addEventListener("storage", (event) => {
    if (event.key === KEY) listener(waiting());
  });
  listener(waiting());
}

// Send one item. Answers {receipt}, {refusal} when the server understood and said no, or {away}.
export async function send(item) {
  onTheirWay.add(item.body.id);
  try {
    return await sendNow(item);
  } finally {
    onTheirWay.delete(item.body.id);
  }
}

async function sendNow(item) {
  let response;
  try {
    response = await fetch(item.url, {
      method: "POST",
      headers: { "Content-Type": "application/json", Accept: "application/json" },
      body: JSON.stringify(item.body),
    });
  } catch {
    return { away: "The program does not answer." };
  }
  let answer;
  try {
    answer = await response.json();
  } catch {
    return { away: "The program's answer could not be read." };
  }
  if (response.ok && answer.id === item.body.id) return { receipt: answer };
  if (response.status >= 500) return { away: answer.sentence || "The program failed." };
  return { refusal: answer };
}

async function sendAll() {
  for (const item of waiting()) {
    if (item.refused || onTheirWay.has(item.body.id)) continue;
    const { receipt, refusal, away } = await send(item);
    if (receipt) {
      drop(item.body.id);
      document.dispatchEvent(new CustomEvent("bedplate-saved", { detail: receipt }));
    } else if (refusal) {
      refused(item.body.id, refusal.sentence);
    } else {
      return away;
    }
  }
  return "";
}

export function retry() {
  sending ??= sendAll().finally(() => {
    sending = null;
  });
  return sending;
}

function show(items) {
  const box = document.getElementById("unsaved");
  const list = document.getElementById("unsaved-list");
  box.hidden = items.length === 0;
  document.getElementById("unsaved-why").textContent = items.some((item) => !item.refused)
    ? "These values are held in this browser only, and are sent again by themselves."
    : "These values were refused. Type them again, or let them go.";
  list.replaceChildren(
    ...items.map((item) => {
      const line = document.createElement("li");
      const value = document.createElement("b");
      value.textContent = item.body.value;
      const name = document.createElement("span");
      name.textContent = item.refused ? `${item.name}: ${item.refused}` : item.name;
      line.append(value, name);
      if (item.refused) {
        const button = document.createElement("button");
        button.type = "button";
        button.textContent = "Let it go";
        button.addEventListener("click", () => drop(item.body.id));
        line.append(button);
      }
      return line;
    }),
  );
}

export function watch() {
  onChange(show);
  document.getElementById("unsaved-retry").addEventListener("click", retry);
  addEventListener("online", retry);
  setInterval(() => {
    if (waiting().some((item) => !item.refused)) retry();
  }, EVERY);
  if (waiting().some((item) => !item.refused)) retry();
}
