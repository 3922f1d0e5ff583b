// The bolts over time: a film of which every frame says the state of each bolt of one group.
const film = byId("film-data") ? dataOf("film-data") : { frames: [], groups: [] };
const figures = [...document.querySelectorAll("[data-group]")].map((figure) => ({ bolts: [...figure.querySelectorAll("g.bolt")], pass: figure.querySelector(".pass") }));
const slider = byId("film");
const scene = { at: film.frames.length, timer: 0 };

function drawSigns(group, signs, title) {
  const figure = figures[group];
  if (!figure) return;
  figure.bolts.forEach((bolt, place) => bolt.setAttribute("class", `bolt s-${signs[place] || "p"}`));
  figure.pass.textContent = title;
}
/** Show frame n; the place after the last one shows what the joint was left with. */
function showFrame(n) {
  scene.at = Math.max(0, Math.min(n, film.frames.length));
  const atEnd = scene.at === film.frames.length;
  const seen = new Set();
  for (let k = Math.min(scene.at, film.frames.length - 1); k >= 0 && seen.size < figures.length; k--) {
    const [, group, stage, signs] = film.frames[k];
    if (seen.has(group)) continue;
    seen.add(group);
    const over = atEnd && film.closed;
    drawSigns(group, over ? film.final[group] : signs, over ? say("in the end") : (index.stages[stage] || ["", ""])[1]);
  }
  film.groups.forEach((bolts, group) => { if (!seen.has(group)) drawSigns(group, "p".repeat(bolts.length), say("not begun")); });
  if (!slider) return;
  slider.value = scene.at;
  const words = atEnd ? say(film.closed ? "What the joint was left with, over all passes" : "Where the session stopped") : `${clock(times[Math.max(0, placeAt(film.frames[scene.at][0]))])} · ${(index.stages[film.frames[scene.at][2]] || ["", ""])[1]} · ${film.frames[scene.at][4] || say("announced")}`;
  slider.setAttribute("aria-valuetext", words);
  byId("film-says").textContent = words;
  const place = film.frames.length ? placeAt(film.frames[Math.min(scene.at, film.frames.length - 1)][0]) : -1;
  if (place >= 0) byId("film-moment").setAttribute("href", `#${anchorOf(place)}`);
}
/** Show the bolts as they stood after moment i. */
function showMoment(i) {
  const until = i + 1 < count ? numbers[i + 1] : Infinity;
  let low = -1, high = film.frames.length;
  while (high - low > 1) { const middle = (low + high) >> 1; if (film.frames[middle][0] < until) low = middle; else high = middle; }
  if (film.frames.length) showFrame(Math.max(0, low));
}
function runFilm(run) {
  clearInterval(scene.timer);
  scene.timer = 0;
  byId("film-play").textContent = say(run ? "Hold here" : "Run through the work");
  if (!run) return;
  if (scene.at >= film.frames.length) showFrame(0);
  scene.timer = setInterval(() => { if (scene.at >= film.frames.length) runFilm(false); else showFrame(scene.at + 1); }, 350);
}
if (slider && film.frames.length) {
  document.querySelector(".film").hidden = false;
  slider.max = film.frames.length;
  slider.addEventListener("input", () => { runFilm(false); showFrame(Number(slider.value)); });
  byId("film-play").addEventListener("click", () => runFilm(!scene.timer));
  byId("film-end").addEventListener("click", () => { runFilm(false); showFrame(film.frames.length); });
  showFrame(film.frames.length);
}
