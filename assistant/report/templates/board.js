"use strict";
// Shows what the assistant sends; sends nothing. Without a word for a while it shows no bolt at all.
const PATIENCE_MS = 6000;
const LARGEST_PX = 2000;
const byId = (name) => document.getElementById(name);
const board = byId("board");
let heardAt = 0;

function fits() {
  return board.scrollHeight <= board.clientHeight && board.scrollWidth <= board.clientWidth
    && byId("figures").scrollWidth <= board.clientWidth && byId("heading").scrollWidth <= board.clientWidth;
}

function fill() {
  let low = 8, high = LARGEST_PX;
  while (high - low > 1) {
    const size = (low + high) / 2;
    document.documentElement.style.setProperty("--size", `${size}px`);
    if (fits()) low = size; else high = size;
  }
  document.documentElement.style.setProperty("--size", `${Math.floor(low)}px`);
}

function show(told) {
  board.dataset.kind = told.kind;
  byId("heading").textContent = told.heading;
  byId("figures").replaceChildren(...told.figures.map((each) => {
    const cell = document.createElement("div");
    const label = document.createElement("span");
    const figure = document.createElement("b");
    label.textContent = each.label;
    figure.textContent = each.figure;
    cell.append(label, figure);
    return cell;
  }));
  for (const name of ["text", "place", "joint", "last"]) {
    byId(name).textContent = told[name];
    byId(name).hidden = !told[name];
  }
  byId("say").textContent = told.say && (told.kind === "say" ? told.say : `Say: ${told.say}`);
  byId("say").hidden = !told.say;
  document.title = [told.heading, ...told.figures.map((each) => each.figure)].join(" ");
  fill();
}

function heard() {
  heardAt = Date.now();
  byId("stale").hidden = true;
}

const words = new EventSource("/events");
words.addEventListener("message", (event) => { heard(); show(JSON.parse(event.data)); });
words.addEventListener("beat", heard);
words.addEventListener("error", () => { byId("stale").hidden = false; });
setInterval(() => { if (Date.now() - heardAt > PATIENCE_MS) byId("stale").hidden = false; }, 500);
window.addEventListener("resize", fill);
