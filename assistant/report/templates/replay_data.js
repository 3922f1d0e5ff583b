// The data of the page: an index of all moments, pieces that are read when they are first seen, and small tools.
const byId = (id) => document.getElementById(id);
const dataOf = (id) => JSON.parse(byId(id).textContent);
const index = dataOf("index");
const count = index.who.length;
/** A text of ours in the language of the page, its fields {0}, {1} filled. */
const say = (text, ...fields) => (index.words[text] ?? text).replace(/\{(\d)\}/g, (_, n) => fields[n]);
const sums = (differences) => { const found = new Float64Array(differences.length); let sum = 0; for (let i = 0; i < found.length; i++) found[i] = (sum += differences[i]); return found; };
const times = sums(index.t);
const numbers = sums(index.no);
const bitOf = Object.fromEntries(index.marks.map((mark, bit) => [mark, 1 << bit]));
const pieces = new Map();

/** Moment i: [text, outcomes, milliseconds of sound, outline or prompt's key, what was heard]. */
function moment(i) {
  const at = Math.floor(i / index.piece);
  let piece = pieces.get(at);
  if (!piece) {
    if (document.readyState === "loading" && at) return ["…", [], 0];  // the rest of the page is still being read
    pieces.set(at, (piece = dataOf(`piece-${at}`)));
  }
  return piece[i - at * index.piece];
}

const anchorOf = (i) => (index.named[i] === "u" ? `u-${String(index.id[i]).padStart(4, "0")}` : `e-${index.id[i]}`);
const places = new Map();
function placeOf(anchor) {
  if (!places.size) for (let i = count - 1; i >= 0; i--) places.set(anchorOf(i), i);
  const exact = places.get(anchor);
  if (exact !== undefined) return exact;
  const entry = /^e-(\d{1,9})$/.exec(anchor);  // an entry without a moment of its own: the moment it belongs to
  return entry ? placeAt(Number(entry[1])) : -1;
}
/** The last moment that begins at or before an entry's number. */
function placeAt(number) {
  let low = -1, high = count;
  while (high - low > 1) { const middle = (low + high) >> 1; if (numbers[middle] <= number) low = middle; else high = middle; }
  return low;
}

/** A new element with properties (class, text, on..., else attributes) and children. Text is only ever set as text. */
const SVG = "http://www.w3.org/2000/svg";
function make(name, properties = {}, ...children) {
  const inSvg = ["svg", "path", "rect"].includes(name);
  const made = inSvg ? document.createElementNS(SVG, name) : document.createElement(name);
  for (const [key, value] of Object.entries(properties)) {
    if (value === undefined || value === null) continue;
    if (key === "text") made.textContent = value;
    else if (key.startsWith("on")) made.addEventListener(key.slice(2), value);
    else made.setAttribute(key, value);
  }
  made.append(...children.filter((child) => child !== null && child !== undefined));
  return made;
}
const PLAY = "M4 2.5v11l9-5.5z";
const playSign = () => make("svg", { viewBox: "0 0 16 16", "aria-hidden": "true" }, make("path", { d: PLAY }));

// Times: this computer's own, or UTC as in the record on request.
let ownZone = true;
const DATES = ["{0} Jan", "{0} Feb", "{0} Mar", "{0} Apr", "{0} May", "{0} Jun", "{0} Jul", "{0} Aug", "{0} Sep", "{0} Oct", "{0} Nov", "{0} Dec"];
function isoOf(milliseconds) {
  const shift = ownZone ? -new Date(milliseconds).getTimezoneOffset() * 60000 : 0;
  return new Date(milliseconds + shift).toISOString();
}
function dayOf(milliseconds) {
  const iso = isoOf(milliseconds);
  return say(DATES[Number(iso.slice(5, 7)) - 1], iso.slice(8, 10));
}
function clock(milliseconds, withDay = false) {
  const iso = isoOf(milliseconds);
  const day = dayOf(milliseconds);
  return (withDay === "year" ? `${day} ${iso.slice(0, 4)} ` : withDay ? `${day} ` : "") + iso.slice(11, 19);
}
function zoneName() {
  if (!ownZone) return say("UTC, as in the record");
  const minutes = -new Date(times[0] || Date.now()).getTimezoneOffset();
  const sign = minutes < 0 ? "−" : "+";
  return `${say("local")} (UTC${sign}${String(Math.floor(Math.abs(minutes) / 60)).padStart(2, "0")}:${String(Math.abs(minutes) % 60).padStart(2, "0")})`;
}
