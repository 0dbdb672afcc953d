"use strict";
// Taps wait in a queue that outlives the page, and each has an id: it is sent until it is answered
// and done once. What is shown always comes from the room.
const WAITING = "room-taps " + location.pathname;
const byId = (id) => document.getElementById(id);
let queue = [];
try { queue = JSON.parse(localStorage.getItem(WAITING)) || []; } catch { queue = []; }
let sending = false;
let gone = false;

function keep() {
  try { localStorage.setItem(WAITING, JSON.stringify(queue)); } catch { /* private browsing */ }
}

function newId() {
  const bytes = crypto.getRandomValues(new Uint8Array(16));
  return Array.from(bytes, (each) => each.toString(16).padStart(2, "0")).join("");
}

function tap(what, text = "") {
  queue.push({ id: newId(), do: what, text });
  keep();
  connection();
  send();
}

function connection() {
  const waiting = queue.length;
  const taps = `${waiting} tap${waiting === 1 ? "" : "s"} to send`;
  byId("connection").textContent = gone ? `no connection${waiting ? ", " + taps : ""}` : "";
}

async function send() {
  if (sending) return;
  sending = true;
  while (queue.length) {
    try {
      const answer = await fetch("do", {
        method: "POST",
        headers: { "Content-Type": "application/json" },
        body: JSON.stringify(queue[0]),
      });
      if (answer.ok) {
        const told = await answer.json();
        said(told);
        show(told.state);
      } else if (answer.status === 429 || answer.status >= 500) {
        throw new Error("later");
      } else {
        said({ said: await answer.text(), more: [], done: false });
      }
      queue.shift();
      keep();
      gone = false;
    } catch {
      gone = true;
      break;
    }
    connection();
  }
  sending = false;
  connection();
}

function said(reply) {
  byId("answer").textContent = (reply.done ? "✓ " : "! ") + reply.said;
  list("more", reply.more);
}

function list(id, texts) {
  byId(id).replaceChildren(...texts.map((text) => {
    const item = document.createElement("li");
    item.textContent = text;
    return item;
  }));
}

function show(state) {
  const named = [state.song, state.version, state.part].filter(Boolean).join(" / ");
  byId("where").textContent = named || "no song yet: write song Saltpan Road below";
  const session = state.session ? `session ${state.session}` : "no session yet";
  byId("setup").textContent = [state.setup, session].filter(Boolean).join(" · ");
  byId("number").textContent = state.unrated === null
    ? `take ${state.next_take}${state.bars ? ", bars " + state.bars : ""}`
    : `take ${state.unrated} waits for its result`;
  byId("sections").replaceChildren(...sections(state).map(([digit, text, chosen]) => {
    const button = document.createElement("button");
    button.type = "button";
    button.textContent = text;
    button.setAttribute("aria-pressed", String(chosen));
    button.addEventListener("click", () => tap("section", digit));
    return button;
  }));
  byId("chart").replaceChildren(...state.chart.map((cell) => {
    const bar = document.createElement("div");
    const name = document.createElement("b");
    name.textContent = cell.sounds;
    const shape = document.createElement("small");
    shape.textContent = cell.shape ? `shape ${cell.shape}` : `bar ${cell.bar}`;
    bar.append(name, shape);
    return bar;
  }));
  list("takes", state.takes.map((take) => [
    `${take.number} ${take.result || "to rate"}`, take.bars && `bars ${take.bars}`, take.note,
    ...take.files,
  ].filter(Boolean).join(", ")));
  list("missing", state.missing);
  byId("file").hidden = !state.offered;
  byId("accept").hidden = !state.heard;
  if (state.last && !queue.length) said(state.last);
}

function sections(state) {
  const rows = state.sections.filter((row) => row.digit)
    .map((row) => [row.digit, `${row.name} ${row.bars}`, row.digit === state.section]);
  return rows.length ? [["0", "whole song", !state.section], ...rows] : [];
}

function listen() {
  const live = new EventSource("live");
  live.onmessage = (event) => { gone = false; connection(); show(JSON.parse(event.data)); send(); };
  live.onerror = () => {
    gone = true;
    connection();
    if (live.readyState === EventSource.CLOSED) setTimeout(listen, 2000);
  };
}

for (const button of document.querySelectorAll("button[data-do]")) {
  button.addEventListener("click", () => tap(button.dataset.do));
}
byId("note").addEventListener("submit", (event) => {
  event.preventDefault();
  const line = byId("line");
  if (line.value.trim()) tap("line", line.value);
  line.value = "";
});
window.addEventListener("online", send);
setInterval(() => { if (queue.length) send(); }, 2000);
listen();
send();
