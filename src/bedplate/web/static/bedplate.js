// What every page has: values that wait to be saved, forms that say no in place, and the keys.

import { watch } from "./outbox.js";

export function say(words) {
  const live = document.getElementById("live");
  live.textContent = "";
  requestAnimationFrame(() => {
    live.textContent = words;
  });
}

const SAID = "bedplate-said";

async function sendForm(form, submitter) {
  const error = form.querySelector(".form-error");
  const button = submitter || form.querySelector("button");
  error.hidden = true;
  button.disabled = true;
  try {
    const multipart = form.enctype === "multipart/form-data";
    const data = new FormData(form);
    const response = await fetch(form.action, {
      method: "POST",
      headers: { Accept: "application/json" },
      body: multipart ? data : new URLSearchParams(data),
    });
    const answer = await response.json();
    if (response.ok) {
      if (answer.number) sessionStorage.setItem(SAID, `Saved, entry ${answer.number}.`);
      if (answer.go.split("#")[0] === location.pathname + location.search) location.reload();
      else location.assign(answer.go);
      return;
    }
    const faults = (answer.faults || [])
      .map((fault) => `line ${fault.line} ${fault.key}: ${fault.wrong}; ${fault.right}`)
      .join("\n");
    error.textContent = [answer.sentence, answer.hint, faults].filter(Boolean).join(" ");
  } catch {
    error.textContent = "The program does not answer. What you typed is still here; try again.";
  }
  error.hidden = false;
  button.disabled = false;
}

document.addEventListener("submit", (event) => {
  const form = event.target;
  if (!form.matches("form[data-quiet]")) return;
  event.preventDefault();
  sendForm(form, event.submitter);
});

const dialog = document.getElementById("keys-dialog");
const single = document.getElementById("single-keys");
single.checked = localStorage.getItem("bedplate-single-keys") !== "off";
single.addEventListener("change", () => {
  localStorage.setItem("bedplate-single-keys", single.checked ? "on" : "off");
});
document.getElementById("keys-link").addEventListener("click", (event) => {
  event.preventDefault();
  dialog.showModal();
});
document.addEventListener("keydown", (event) => {
  const typing = event.target.closest("input, textarea, select");
  if (event.key === "?" && !typing && single.checked && !dialog.open) {
    event.preventDefault();
    dialog.showModal();
  }
});

const kind = document.getElementById("gauge-kind");
if (kind) {
  const offer = () => {
    const usual = kind.selectedOptions[0].dataset;
    const form = kind.form;
    form.elements.resolution.placeholder = `usual: ${usual.resolution}`;
    form.elements.expanded_uncertainty.placeholder = `usual in good hands: ${usual.uncertainty}`;
    form.elements.repeatability.placeholder = `usual in good hands: ${usual.repeatability}`;
  };
  kind.addEventListener("change", offer);
  offer();
}

const said = sessionStorage.getItem(SAID);
if (said) {
  sessionStorage.removeItem(SAID);
  say(said);
}

watch();
