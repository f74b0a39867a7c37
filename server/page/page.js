// What a browser does beyond the forms. Without it every view and every form works all the same.
//
// It takes the secret of a code out of the address, shows entries as they come, and keeps a form whose sending met
// no signal until it can be sent. Each form carries its own id, so that the book counts it once however often it
// comes. No clock of the telephone is asked for anything.
"use strict";

const KEY = "unsent";
const PATIENCE_MS = 20000;
const AGAIN_MS = 8000;
// The service is there, and takes nothing just now.
const LATER = [429, 502, 503, 504];

const by = (id) => document.getElementById(id);
const made = (name, text, more) => Object.assign(document.createElement(name), { textContent: text }, more);

// --- the code that the address carries

function pair() {
  const form = by("pair");
  const secret = location.hash.slice(1);
  if (!secret) return;
  // Neither the list of visited pages nor whoever looks on shall have it.
  history.replaceState(null, "", location.pathname + location.search);
  if (form) {
    form.elements.code.value = secret;
    form.submit();
  } else {
    // A telephone that is paired, and was given another code.
    location.replace("/pair#" + secret);
  }
}

// --- forms that wait for signal

let memory = [];
function held() {
  try {
    return JSON.parse(localStorage.getItem(KEY)) || memory;
  } catch {
    return memory;
  }
}
function hold(items) {
  memory = items;
  try {
    localStorage.setItem(KEY, JSON.stringify(items));
  } catch {
    // It is held as long as this page stays open.
  }
}
const without = (item) => held().filter((other) => other.id !== item.id);

// What a person filled in, in the words of the form.
function said(form) {
  const words = [];
  for (const one of form.elements) {
    const ticks = one.type === "checkbox" || one.type === "radio";
    if (!one.name || !one.value || !one.labels?.length || (ticks && !one.checked)) continue;
    const label = one.labels[0].innerText.trim().replace(/\s+/g, " ");
    const of = one.closest("fieldset")?.querySelector("legend")?.textContent.trim();
    words.push(ticks ? (of ? `${of}: ${label}` : label) : `${label}: ${one.value}`);
  }
  return words;
}

async function post(item) {
  const body = new URLSearchParams(item.fields);
  const answer = await fetch(item.to, { method: "POST", body, signal: AbortSignal.timeout(PATIENCE_MS) });
  const text = await answer.text();
  return { code: answer.status, at: answer.redirected ? answer.url : "", text };
}

// Puts an answer in the place of the page.
function turn(answer) {
  const there = new DOMParser().parseFromString(answer.text, "text/html");
  document.title = there.title;
  document.body.replaceWith(there.body);
  if (answer.at) history.pushState(null, "", answer.at);
  scrollTo(0, 0);
  arrive();
}

const sending = new Set();
async function send(event) {
  const form = event.target;
  if (form.method !== "post" || form.id === "pair") return;
  event.preventDefault();
  const data = new FormData(form);
  if (event.submitter?.name) data.append(event.submitter.name, event.submitter.value);
  const item = {
    id: data.get("request_id"),
    to: form.getAttribute("action"),
    what: form.dataset.what || document.querySelector("h1").textContent,
    fields: [...data].map(([name, value]) => [name, String(value)]),
    said: said(form),
  };
  // A second tap, or a form that waits already.
  if (sending.has(item.id) || held().some((other) => other.id === item.id)) return;
  sending.add(item.id);
  const answer = await post(item).catch(() => undefined);
  sending.delete(item.id);
  if (!answer || LATER.includes(answer.code)) {
    hold([...held(), item]);
    show();
    by("unsent").scrollIntoView();
    return;
  }
  if (answer.code === 401) notes.push(lost(item, "This telephone is let in no more."));
  turn(answer);
}

// What became of forms that waited.
let notes = [];
const lost = (item, why) => ({ text: `Not recorded, and kept no more: “${item.what}”. ${why}`, said: item.said });

let busy = false;
async function flush() {
  if (busy) return;
  busy = true;
  let item;
  while ((item = held().find((one) => !one.asks))) {
    const answer = await post(item).catch(() => undefined);
    if (!answer || LATER.includes(answer.code)) break;
    if (answer.code === 400 || answer.code === 409) {
      hold(held().map((one) => (one.id === item.id ? { ...one, asks: true } : one)));
      continue;
    }
    hold(without(item));
    if (answer.at) {
      notes.push({ text: `There is signal again. Sent and recorded once: “${item.what}”.`, at: answer.at });
    } else {
      const page = new DOMParser().parseFromString(answer.text, "text/html");
      const why = page.querySelector("[role=alert]")?.textContent || page.title;
      notes.push(lost(item, answer.code === 401 ? `This telephone is let in no more. ${why}` : why));
    }
  }
  busy = false;
  show();
}

async function look(item) {
  const answer = await post(item).catch(() => undefined);
  if (!answer) return;
  hold(without(item));
  turn(answer);
}

function show() {
  const place = by("unsent");
  if (!place) return;
  place.replaceChildren();
  for (const item of held()) {
    const text = item.asks
      ? `“${item.what}” was sent and not recorded: it asks something.`
      : `No signal: “${item.what}” is kept on this telephone and sent by itself when there is signal. ` +
        "Nothing has to be told again.";
    place.append(made("p", text), list(item.said));
    if (item.asks) {
      place.append(button("Look at it", () => look(item)));
      place.append(button("Drop it", () => (hold(without(item)), show())));
    }
  }
  for (const note of notes) {
    const text = made("p", note.text);
    if (note.at) text.append(" ", made("a", "What was recorded", { href: note.at, className: "act" }));
    place.append(text);
    if (note.said) place.append(list(note.said));
  }
}
function list(words) {
  const all = made("ul", "");
  all.append(...words.map((word) => made("li", word)));
  return all;
}
const button = (text, onclick) => made("button", text, { type: "button", className: "back", onclick });

// --- entries as they come

let source;
function watch() {
  source?.close();
  source = undefined;
  const rows = by("entries");
  if (!rows?.dataset.seen) return;
  const tell = (text) => (by("watching").textContent = text);
  source = new EventSource("/entries/watch?after=" + rows.dataset.seen);
  source.onopen = () => tell("New entries appear by themselves.");
  source.onmessage = (event) => {
    const [seq, head, ...texts] = event.data.split("\n");
    rows.dataset.seen = seq;
    const row = document.createElement("li");
    row.append(made("a", `Entry ${seq}`, { href: `/entry/${seq}` }), " ");
    row.append(made("span", head, { className: "quiet" }), ...texts.map((text) => made("span", text)));
    rows.prepend(row);
    while (rows.children.length > 200) rows.lastElementChild.remove();
  };
  source.addEventListener("end", (event) => {
    source.close();
    tell(`No more entries come. ${event.data}`);
  });
  source.onerror = () => {
    const over = source.readyState === EventSource.CLOSED;
    tell(over ? "No more entries come. Load the page again." : "No signal. Entries come again with it.");
  };
}

function arrive() {
  pair();
  show();
  watch();
}

addEventListener("submit", send);
addEventListener("popstate", () => location.reload());
addEventListener("online", flush);
document.addEventListener("visibilitychange", () => document.hidden || (flush(), watch()));
setInterval(flush, AGAIN_MS);
arrive();
flush();
