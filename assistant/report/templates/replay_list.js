// The conversation: rows of one height, of which only those near the window exist; the chosen one is opened.
const list = byId("list"), rows = byId("rows");
const view = { shown: [], chosen: -1, extra: 0, height: 84, built: new Map(), focus: false };
/** An object of texts of ours, each in the language of the page. */
const inWords = (texts) => Object.fromEntries(Object.entries(texts).map(([key, text]) => [key, say(text)]));
const KIND = { h: "heard", a: "assistant", r: "record" };
const WHO = inWords(KIND);
const MIND = bitOf.asked | bitOf.corrected | bitOf.outside | bitOf.skipped | bitOf.refused | bitOf.again | bitOf.unsure;
const FAULTS = inWords({ c: "not the sound that was recorded", d: "sound damaged", m: "sound missing" });
const DECISIONS = inWords({ accept: "believed", ask: "asked about", reject: "not taken" });
/** A number with the decimal sign of the page. */
const decimal = (number) => (document.documentElement.lang === "de" ? String(number).replace(".", ",") : String(number));
const percent = (share) => `${decimal((100 * share).toFixed(share > 0.99 || share < 0.1 ? 1 : 0))} %`;
/** How the listeners stood to each other, in words. */
function listeners(heard) {
  const others = Object.entries(heard.other || {}), all = heard.by.length + others.length;
  if (heard.by.includes("typed") || (heard.other || {}).typed !== undefined) return say("typed, not heard");
  if (!all) return say("not written down: it was off the record");
  if (all === 1) return say("one listener only ({0})", [...heard.by, ...others.map(([name]) => name)].join(", "));
  if (!others.length) return say(all === 2 ? "both agreed" : "all agreed");
  const said = others.map(([name, words]) => say("{0} heard {1}", name, words ? `“${words}”` : say("nothing that fits"))).join(", ");
  return say(heard.differed ? "differed: {0}" : "agreed in meaning: {0}", said);
}

const newDay = (place) => !place || dayOf(times[view.shown[place]]) !== dayOf(times[view.shown[place - 1]]);
const titleOf = (i) => (index.stages[index.stage[i]] || ["", ""])[1];
const wordsOf = (i) => moment(i)[0] || (index.who[i] === "h" ? say("(nothing that fits)") : "");
const topOf = (place) => place * view.height + (view.chosen >= 0 && place > view.chosen ? view.extra : 0);

function wave(outline) {
  const heights = [...outline].map((figure) => parseInt(figure, 36) / 35);
  const d = heights.map((h, k) => `M${k * 3} ${(16 - 15 * h).toFixed(1)}h2v${(30 * h + 1).toFixed(1)}h-2z`).join("");
  return make("svg", { class: "wave", viewBox: `0 0 ${heights.length * 3} 33`, preserveAspectRatio: "none", "aria-hidden": "true" }, make("path", { d }), make("path", { class: "done", d }));
}
function sureness(heard) {
  const best = heard.alt[0], second = heard.alt[1];
  const share = best ? best[2] : 0;
  const bar = make("svg", { viewBox: "0 0 100 10", preserveAspectRatio: "none", "aria-hidden": "true" }, make("rect", { class: "ground", y: 2, width: 100, height: 6 }), make("rect", { class: "bar", y: 2, width: 100 * share, height: 6 }), make("rect", { class: "limit", x: Math.min(99, 100 * heard.from), width: 1, height: 10 }));
  if (heard.by.includes("typed") || (heard.other || {}).typed !== undefined) return make("div", { class: "sure", text: say("typed, not spoken") });
  return make("div", { class: "sure" }, make("span", {}, make("b", { text: best ? percent(share) : "–" }), ` ${DECISIONS[heard.decision] || heard.decision}`), bar, second && second[2] >= 0.01 ? make("span", { class: "second", text: say("or {0} {1}", second[1], percent(second[2])) }) : null);
}
function hearButton(i) {
  if (!playable(i)) return make("span", { class: "none", text: say({ t: "typed", n: "no sound kept" }[index.sound[i]] || "") });
  return make("button", { type: "button", class: "hear", tabindex: "-1", "aria-label": say("Hear: {0}, {1}", wordsOf(i), clock(times[i])), onclick: () => toggle(i) }, playSign());
}
function row(place) {
  const i = view.shown[place], [text, outcomes, , more, heard] = moment(i), who = index.who[i];
  const open = place === view.chosen;
  const words = make("button", { type: "button", tabindex: "-1", "aria-expanded": String(open), onclick: () => choose(open ? -1 : place) },
    make("span", { class: "said", text: who === "r" ? text || outcomes[0] : wordsOf(i) }),
    who === "r" && !text ? null : make("span", { class: index.mark[i] & MIND ? "out mind" : "out", text: outcomes.join(" · ") }),
    FAULTS[index.sound[i]] ? make("span", { class: "faulty", text: FAULTS[index.sound[i]] }) : null);
  const line = make("div", { class: "line" }, hearButton(i), make("div", { class: "at" }, make("b", { text: (newDay(place) ? `${dayOf(times[i])} ` : "") + clock(times[i]) }), ` ${WHO[who]}`), make("div", { class: "words" }, words), more && heard ? wave(more) : make("span", {}), heard ? sureness(heard) : null);
  const made = make("article", { class: KIND[who], tabindex: "-1", "aria-posinset": place + 1, "aria-setsize": view.shown.length, "aria-label": `${WHO[who]}, ${clock(times[i])}: ${wordsOf(i) || outcomes[0] || ""}` }, line);
  made.style.top = `${topOf(place)}px`;
  if (open) { made.classList.add("chosen"); made.append(detail(i)); }
  if (sounding() === i) made.classList.add("sounding");
  return made;
}
const fact = (name, value) => (value === undefined || value === "" ? [] : [make("dt", { text: say(name) }), make("dd", { text: value })]);
function detail(i) {
  const [text, outcomes, ms, , heard] = moment(i);
  const box = make("div", { class: "detail" }, text.length > 50 ? make("p", { text }) : null);
  if (outcomes.length) box.append(make("ul", { "aria-label": say("What came of it") }, ...outcomes.map((words) => make("li", { text: words }))));
  if (heard && heard.alt.length) box.append(make("table", {}, make("thead", {}, make("tr", {}, ...["Words", "Means", "How sure"].map((name) => make("th", { scope: "col", text: say(name) })))), make("tbody", {}, ...heard.alt.map(([said, means, share, bolt]) => make("tr", {}, make("td", { text: said }), make("td", { text: bolt ? say("bolt {0}: {1}", bolt, means) : means }), make("td", { text: percent(share) }))))));
  const facts = [...fact("Due then", index.bolt[i] ? say("{0}, bolt {1}", titleOf(i), index.bolt[i]) : titleOf(i))];
  if (heard) facts.push(...fact("What came", say("{0}; without a question only where at least {1} sure", DECISIONS[heard.decision] || heard.decision, percent(heard.from))),
    ...fact("Listeners", listeners(heard)), ...fact("In free words", heard.free),
    ...fact("Noise", heard.snr === undefined ? undefined : say("speech {0} dB above it", decimal(heard.snr))), ...fact("Beware", [heard.differed && "the listeners differed", heard.clipped && "overdriven", heard.under && "begun under a prompt"].filter(Boolean).map((text) => say(text)).join(", ")),
    ...fact("Recording", index.sound[i] === "t" ? say("none: it was typed") : index.sound[i] === "n" ? say("none was kept") : `${heard.name}.flac, SHA-256 ${heard.sha}…: ${FAULTS[index.sound[i]] || say("as it was kept")}`));
  facts.push(...fact("Lasts", ms ? `${decimal((ms / 1000).toFixed(1))} s` : undefined), ...fact("Line", say("{0} of the journal", numbers[i])));
  box.append(make("dl", { class: "facts" }, ...facts), make("p", {}, make("a", { href: `#${anchorOf(i)}`, text: say("Link to this moment") }), view.shown.length < count ? make("button", { type: "button", class: "link", text: say("Show it among all moments"), onclick: () => { showAll(); goTo(i); } }) : null));
  box.querySelector("a").after(" ");
  return box;
}

/** Whether the list scrolls within itself; on a phone it is part of the page. */
const inner = () => getComputedStyle(list).overflowY !== "visible";
const scrolled = () => (inner() ? list.scrollTop : Math.max(0, -list.getBoundingClientRect().top));
function scrollTo(top) {
  if (inner()) list.scrollTop = top;
  else window.scrollTo({ top: list.getBoundingClientRect().top + window.scrollY + top - 60, behavior: "instant" });
}

/** Build the rows near the window and drop the others. */
function build() {
  const top = scrolled(), room = inner() ? list.clientHeight : window.innerHeight;
  const first = Math.max(0, Math.floor((top - view.extra) / view.height) - 6);
  const last = Math.min(view.shown.length, Math.ceil((top + room) / view.height) + 6);
  for (const [place, made] of view.built) if (place < first || place >= last) { if (!made.contains(document.activeElement)) { made.remove(); view.built.delete(place); } }
  for (let place = first; place < last; place++) if (!view.built.has(place)) {
    const made = row(place);
    let after = null;  // rows stand in the document in their order, for reading and for Tab
    for (const [other, element] of view.built) if (other > place && (!after || other < after.place)) after = { place: other, element };
    rows.insertBefore(made, after ? after.element : null);
    view.built.set(place, made);
  }
}
function lay() {
  rows.style.height = `${topOf(view.shown.length)}px`;
  for (const [place, made] of view.built) made.style.top = `${topOf(place)}px`;
  build();
}
function rebuild() {
  rows.replaceChildren();
  view.built.clear();
  view.height = parseFloat(getComputedStyle(document.documentElement).getPropertyValue("--row")) * parseFloat(getComputedStyle(document.documentElement).fontSize);
  measure();
  lay();
}
function measure() {
  view.extra = 0;
  if (view.chosen < 0) return;
  if (!view.built.has(view.chosen)) { const made = row(view.chosen); rows.append(made); view.built.set(view.chosen, made); }
  view.extra = Math.max(0, view.built.get(view.chosen).offsetHeight - view.height);
}
/** Open the row at a place (-1: none). */
function choose(place, { focus = true } = {}) {
  const hadFocus = focus && rows.contains(document.activeElement);
  const before = view.chosen;
  view.chosen = place;
  for (const old of [before, place]) { view.built.get(old)?.remove(); view.built.delete(old); }
  measure();
  lay();
  if (hadFocus && (place >= 0 || before >= 0)) view.built.get(place >= 0 ? place : before)?.querySelector(".words button")?.focus({ preventScroll: true });
}
function reveal(place) {
  const top = topOf(place), bottom = top + view.height + (place === view.chosen ? view.extra : 0);
  const from = scrolled(), room = inner() ? list.clientHeight : window.innerHeight - 180;
  if (top < from || bottom > from + room) scrollTo(Math.max(0, top - Math.max(0, room - (bottom - top)) / 3));
  build();
}
list.addEventListener("scroll", build, { passive: true });
window.addEventListener("scroll", () => { if (!inner()) build(); }, { passive: true });
list.addEventListener("keydown", (event) => {
  const here = [...view.built].find(([, made]) => made.contains(document.activeElement))?.[0] ?? Math.max(0, view.chosen);
  const steps = { ArrowDown: here + 1, ArrowUp: here - 1, Home: 0, End: view.shown.length - 1 };
  const inRow = document.activeElement === list || document.activeElement.tagName === "ARTICLE" || document.activeElement.closest(".line");
  if (!inRow) return;
  if (event.key in steps) focusRow(Math.max(0, Math.min(view.shown.length - 1, steps[event.key])));
  else if (event.key === " ") { if (playable(view.shown[here])) toggle(view.shown[here]); }
  else return;
  event.preventDefault();
});
function focusRow(place) {
  reveal(place);
  view.built.get(place)?.querySelector(".words button")?.focus({ preventScroll: true });
}
