// What is shown of the conversation, links to moments, playback buttons, print.
const marks = [...document.querySelectorAll("[name=mark]")];
const wanted = () => ({ words: byId("words").value.trim().toLowerCase(), bolt: Number(byId("bolt").value), pass: Number(byId("pass").value), prompts: byId("prompts").checked, mask: marks.reduce((mask, box) => (box.checked ? mask | bitOf[box.value] : mask), 0) });
const hay = [];
const haystack = (i) => (hay[i] ??= [moment(i)[0], ...moment(i)[1]].join(" ").toLowerCase());

function filter() {
  const { words, bolt, pass, prompts, mask } = wanted();
  const kept = view.chosen >= 0 ? view.shown[view.chosen] : -1;
  view.shown = [];
  for (let i = 0; i < count; i++) {
    if (mask && !(index.mark[i] & mask)) continue;
    if (!prompts && index.who[i] === "a") continue;
    if (bolt && index.bolt[i] !== bolt) continue;
    if (pass && (index.stages[index.stage[i]] || [0])[0] !== pass) continue;
    if (words && !haystack(i).includes(words)) continue;
    view.shown.push(i);
  }
  view.chosen = kept >= 0 ? view.shown.indexOf(kept) : -1;
  const all = view.shown.length === count;
  byId("shown").textContent = all ? say("All {0} moments", count) : say("{0} of {1} moments", view.shown.length, count);
  byId("all").hidden = all;
  list.hidden = !view.shown.length;
  rebuild();
  if (view.chosen >= 0) reveal(view.chosen);
}
function showAll() {
  byId("filters").reset();
  filter();
}
/** Open a moment in the list and bring both into view. */
function goTo(i, { scroll = true } = {}) {
  if (!view.shown.includes(i)) showAll();
  const place = view.shown.indexOf(i);
  choose(place, { focus: false });
  reveal(place);
  showMoment(i);
  if (!scroll) return;
  const room = window.innerHeight - (byId("player").hidden ? 0 : byId("player").offsetHeight), box = view.built.get(place).getBoundingClientRect();
  if (box.top < 0 || Math.min(box.bottom, box.top + 200) > room) list.scrollIntoView({ block: "start", behavior: "instant" });
  focusRow(place);
}
function followHash() {
  const place = placeOf(decodeURIComponent(location.hash.slice(1)));
  if (place >= 0) goTo(place);
}

// playback
const hears = () => document.querySelectorAll("[data-play]");
function toggle(i) {
  if (sounding() === i) return halt();
  playFrom([i], 0);
}
function toPlay(from) {
  const prompts = byId("with-prompts").checked;
  const all = view.shown.filter((i) => index.who[i] === "h" ? index.sound[i] !== "-" : index.who[i] === "a" && prompts);
  return [all, Math.max(0, all.findIndex((i) => i >= from))];
}
function playShown(step = 0) {
  const here = player.at >= 0 ? player.list[player.at] : view.chosen >= 0 ? view.shown[view.chosen] : -1;
  const [all, at] = toPlay(here);
  if (all.length) playFrom(all, Math.max(0, Math.min(all.length - 1, at + step)));
}
player.watch.push((what) => {
  const i = player.at >= 0 ? player.list[player.at] : -1;
  if (what === "time") {
    showPlace();
    const made = [...view.built].find(([place]) => view.shown[place] === i)?.[1];
    if (made && audio.duration) made.querySelector(".wave")?.style.setProperty("--part", (audio.currentTime / audio.duration).toFixed(3));
    return;
  }
  if (what === "moment") measurePlay();
  showPlace();
  byId("play").classList.toggle("on", player.on);
  byId("play").setAttribute("aria-label", say(player.on ? "Hold" : "Play what is shown"));
  for (const [place, made] of view.built) made.classList.toggle("sounding", player.on && view.shown[place] === i);
  for (const button of hears()) button.classList.toggle("sounding", player.on && i >= 0 && button.dataset.play === anchorOf(i));
  if (i < 0) return;
  byId("now-place").textContent = `${clock(times[i])} · ${say("{0} of {1}", player.at + 1, player.list.length)}`;
  byId("now").textContent = what === "refused" ? say("This browser does not play the sound.") : wordsOf(i);
  if (what !== "moment") return;
  showMoment(i);
  const place = view.shown.indexOf(i);
  if (place >= 0 && player.list.length > 1) reveal(place);
  view.built.get(place)?.classList.add("sounding");
});
// where in all that is played: each moment lasts as its sound does, or as long as it is shown, and a breath
const GAP_S = GAP_MS / 1000;
let lengths = { of: null, starts: [0] };
const lasts = (i) => (playable(i) ? Math.max(0.3, index.ms[i] / 1000) : 1) + GAP_S;
function measurePlay() {
  if (lengths.of === player.list) return;
  let sum = 0;
  lengths = { of: player.list, starts: [0, ...player.list.map((i) => (sum += lasts(i)))] };
  byId("seek").max = sum.toFixed(1);
  byId("total").textContent = minutes(sum);
}
const minutes = (seconds) => `${Math.floor(seconds / 60)}:${String(Math.floor(seconds % 60)).padStart(2, "0")}`;
function showPlace() {
  if (player.at < 0 || lengths.of !== player.list || seeking) return;
  const into = player.on && playable(player.list[player.at]) && audio.duration ? audio.currentTime : 0;
  const at = lengths.starts[player.at] + into;
  byId("seek").value = at.toFixed(1);
  byId("at").textContent = minutes(at);
  byId("seek").setAttribute("aria-valuetext", say("{0} of {1}", minutes(at), minutes(lengths.starts.at(-1))));
}
let seeking = false;
byId("seek").addEventListener("input", () => { seeking = true; byId("at").textContent = minutes(Number(byId("seek").value)); });
byId("seek").addEventListener("change", () => {
  seeking = false;
  const [all] = player.list.length ? [player.list] : toPlay(-1), wanted = Number(byId("seek").value);
  if (!all.length) return;
  player.list = all;
  measurePlay();
  const place = Math.max(0, lengths.starts.findIndex((start) => start > wanted) - 1);
  playFrom(all, Math.min(place, all.length - 1), wanted - lengths.starts[Math.min(place, all.length - 1)]);
});
byId("play").addEventListener("click", () => (player.on ? halt() : playShown()));
byId("back").addEventListener("click", () => playShown(-1));
byId("on").addEventListener("click", () => playShown(1));
byId("speed").addEventListener("change", (event) => setSpeed(Number(event.target.value)));
document.addEventListener("click", (event) => {
  const button = event.target.closest?.("[data-play],[data-filter]");
  if (!button) return;
  if (button.dataset.play !== undefined) { const i = placeOf(button.dataset.play); if (i >= 0) toggle(i); return; }
  byId("filters").reset();
  marks.forEach((box) => (box.checked = box.value === button.dataset.filter));
  filter();
  byId("conversation").focus();
});
byId("hear-attention")?.addEventListener("click", () => {
  const order = [...new Set([...document.querySelectorAll("#decide [data-play], #attention [data-play]")].map((button) => placeOf(button.dataset.play)))].filter((i) => i >= 0);
  if (order.length) playFrom(order, 0);
});

// times
function showTimes() {
  byId("zone").textContent = byId("zone-printed").textContent = zoneName();
  byId("zone").setAttribute("aria-pressed", String(ownZone));
  for (const time of document.querySelectorAll("time[data-t]")) time.textContent = clock(Number(time.dataset.t), time.dataset.date || (time.dataset.day && dayOf(Number(time.dataset.t)) !== dayOf(times[0])));
}
byId("zone").addEventListener("click", () => {
  ownZone = !ownZone;
  showTimes();
  rebuild();
  if (film.frames.length) showFrame(scene.at);
});

// print: every moment that is shown, as plain rows
const MOST_PRINTED = 1500;
window.addEventListener("beforeprint", () => {
  for (const part of document.querySelectorAll("details")) part.open = true;
  const printed = view.shown.slice(0, MOST_PRINTED).map((i) => {
    const [text, outcomes, , more, heard] = moment(i);
    const line = make("div", { class: "line" }, make("div", { class: "at", text: `${clock(times[i])} ${WHO[index.who[i]]}` }), make("div", { class: "words" }, make("span", { class: "said", text: text || wordsOf(i) }), make("span", { class: "out", text: outcomes.join(" · ") })), heard && more ? wave(more) : make("span", {}), heard ? sureness(heard) : null);
    return make("article", { class: KIND[index.who[i]] }, line);
  });
  if (view.shown.length > MOST_PRINTED) printed.unshift(make("p", { class: "note", text: say("The first {0} of {1} moments. Choose fewer above to print others.", MOST_PRINTED, view.shown.length) }));
  byId("printed").replaceChildren(...printed);
});
window.addEventListener("afterprint", () => byId("printed").replaceChildren());

// the figures of a group: one stop for the keyboard, arrows move among them
for (const box of document.querySelectorAll(".figures-of")) box.addEventListener("keydown", (event) => {
  const cell = document.activeElement.closest("td"), rows_ = [...box.querySelectorAll("tbody tr")];
  const column = cell ? cell.cellIndex : 1, line = cell ? rows_.indexOf(cell.parentElement) : 0;
  const step = { ArrowDown: [1, 0], ArrowUp: [-1, 0], ArrowRight: [0, 1], ArrowLeft: [0, -1] }[event.key];
  if (!step) return;
  const next_ = cell ? rows_[line + step[0]]?.cells[column + step[1]] : rows_[0]?.cells[1];
  next_?.querySelector("a")?.focus();
  event.preventDefault();
});
// hold points and checks: one stop too
const holds = document.querySelector("#holds .holds");
if (holds) {
  const links = [...holds.querySelectorAll("a")];
  for (const link of links) link.tabIndex = -1;
  if (links.length) holds.tabIndex = 0;
  holds.setAttribute("aria-label", say("Hold points and checks; arrow keys move among them"));
  holds.addEventListener("keydown", (event) => {
    const step = { ArrowDown: 1, ArrowUp: -1 }[event.key];
    if (!step) return;
    const at = links.indexOf(document.activeElement);
    links[at < 0 ? (step > 0 ? 0 : links.length - 1) : Math.min(links.length - 1, Math.max(0, at + step))]?.focus();
    event.preventDefault();
  });
}
byId("no-scripts").hidden = true;
byId("zone-printed").className = "printed-only";
for (const id of ["filters", "player", "keys", "zone", "hear-attention"]) if (byId(id)) byId(id).hidden = false;
if (![...index.sound].some((sign) => "kcp".includes(sign))) { byId("player").hidden = true; if (byId("hear-attention")) byId("hear-attention").hidden = true; }
if (window.matchMedia("(max-width: 42rem)").matches) document.querySelectorAll(".only").forEach((part) => (part.open = false));  // a phone shows first what matters first
byId("filters").addEventListener("input", filter);
byId("filters").addEventListener("submit", (event) => event.preventDefault());
byId("all").addEventListener("click", showAll);
window.addEventListener("resize", () => rebuild());
window.addEventListener("hashchange", followHash);
showTimes();
filter();
performance.mark("ready");
document.addEventListener("DOMContentLoaded", () => { hay.length = 0; filter(); followHash(); });  // now all of it is read
