// Sound: one player for the whole page. It plays moments one after another, with the silence between them left out.
const GAP_MS = 350;
const audio = new Audio();
audio.preservesPitch = true;
byId("player").append(audio);  // without controls of its own it is not seen
const urls = new Map();  // the last few sounds that were unpacked
const player = { list: [], at: -1, on: false, speed: 1, timer: 0, watch: [] };
const playable = (i) => "kcp".includes(index.sound[i]);

function soundOf(i) {
  const prompt = index.who[i] === "a";
  const key = prompt ? moment(i)[3] : moment(i)[4]?.name;
  if (!key) return "";
  const type = prompt ? index.promptType : "audio/flac";
  if (index.beside) return `${index.beside}/${key}.${prompt ? index.promptEnding : "flac"}`;
  if (!urls.has(key)) {
    const held = byId(`sound-${key}`);
    if (!held) return "";
    const letters = atob(held.textContent);
    const bytes = Uint8Array.from(letters, (letter) => letter.charCodeAt(0));
    if (urls.size > 20) { const [oldest, url] = urls.entries().next().value; URL.revokeObjectURL(url); urls.delete(oldest); }
    urls.set(key, URL.createObjectURL(new Blob([bytes], { type })));
  }
  return urls.get(key);
}

const tell = (what) => player.watch.forEach((watch) => watch(what));
const sounding = () => (player.on && player.at >= 0 ? player.list[player.at] : -1);

/** Play a list of moments from a place in it, and so many seconds into its sound. */
function playFrom(list, at, into = 0) {
  player.list = list;
  player.at = at;
  player.into = into;
  player.on = true;
  begin();
}
function begin() {
  clearTimeout(player.timer);
  audio.pause();
  const i = player.list[player.at];
  if (i === undefined) return halt();
  tell("moment");
  const url = playable(i) ? soundOf(i) : "";
  if (!url) {  // nothing to hear: long enough to read it
    player.timer = setTimeout(next, Math.min(2500, 300 + 40 * moment(i)[0].length) / player.speed);
    return;
  }
  audio.src = url;
  if (player.into > 0) { const into = player.into; audio.addEventListener("loadedmetadata", () => { if (into < audio.duration) audio.currentTime = into; }, { once: true }); }
  player.into = 0;
  audio.play().catch((refusal) => { if (refusal.name !== "AbortError") { tell("refused"); halt(); } });
}
function next() {
  if (!player.on) return;
  if (player.at + 1 >= player.list.length) return halt();
  player.at += 1;
  begin();
}
function halt() {
  clearTimeout(player.timer);
  audio.pause();
  player.on = false;
  tell("halt");
}
function setSpeed(speed) {
  player.speed = speed;
  audio.playbackRate = audio.defaultPlaybackRate = speed;  // the default holds for every sound that follows
}
audio.addEventListener("ended", () => { if (player.on) player.timer = setTimeout(next, GAP_MS / player.speed); });
audio.addEventListener("error", () => { if (player.on && audio.src) { tell("refused"); player.timer = setTimeout(next, GAP_MS); } });
audio.addEventListener("timeupdate", () => tell("time"));
