// Keys and sound. Everything here is also a plain button, link or form: the pages work without it.

const SWITCH = "droplight.shortcuts";
const SPEED = "droplight.speed";
const speed = document.getElementById("speed");
const findings = [...document.querySelectorAll("article")];
let current = -1;

function recall(name) {
  try { return localStorage.getItem(name); } catch { return null; }
}

function remember(name, value) {
  try { localStorage.setItem(name, value); } catch { /* not remembered, still works */ }
}

function show(index, focus = true) {
  if (!findings.length) return;
  current = Math.max(0, Math.min(index, findings.length - 1));
  const chosen = findings[current];
  findings.forEach((finding) => finding.classList.toggle("current", finding === chosen));
  document.querySelectorAll(".walk li").forEach((line, at) => {
    line.classList.toggle("current", at === current);
    if (at === current) line.querySelector("a").setAttribute("aria-current", "true");
    else line.querySelector("a").removeAttribute("aria-current");
  });
  if (focus) {
    chosen.querySelector("h2").focus({ preventScroll: true });
    chosen.scrollIntoView({ block: "start" });
  }
}

function span(audio) { // from where to where the words are, in seconds: the address says it
  return audio.src.split("#t=")[1].split(",").map(Number);
}

function play(audio) {
  const [start, end] = span(audio);
  document.querySelectorAll("audio").forEach((other) => { if (other !== audio) other.pause(); });
  if (!audio.paused) { audio.pause(); return; }
  if (audio.readyState && (audio.currentTime < start || audio.currentTime >= end - 0.05)) {
    audio.currentTime = start;
  }
  audio.play().catch(() => { /* the browser shows on the control that it cannot play */ });
}

function setSpeed(value) {
  const speeds = [...speed.options].map((option) => option.value);
  speed.value = speeds.includes(value) ? value : "1";
  // The default too: a new sound begins with it, and pitch is kept by the browser.
  document.querySelectorAll("audio").forEach((audio) => {
    audio.defaultPlaybackRate = audio.playbackRate = Number(speed.value);
  });
}

function nextSpeed() {
  if (!speed) return;
  const next = speed.options[(speed.selectedIndex + 1) % speed.options.length].value;
  setSpeed(next);
  remember(SPEED, next);
}

const CONTROLS = { c: "button.main", e: "a[href*='edit=']", r: "a[href*='reject=']", p: "a[href*='arrange=']" };

function press(key) {
  const box = findings[current]?.querySelector(".decide");
  const control = CONTROLS[key] ? box?.querySelector(CONTROLS[key]) : box?.querySelectorAll(".others button")[key - 1];
  control?.click();
}

const typing = (target) => target.closest("input:not([type=checkbox]), select, textarea, [contenteditable]");
const pressable = (target) => target.closest("button, a, summary, audio, input[type=checkbox]");

function onKey(event) {
  if (event.ctrlKey || event.altKey || event.metaKey || event.isComposing || event.repeat) return;
  if (typing(event.target) || document.querySelector("dialog[open]")) return;
  const key = event.key.length === 1 ? event.key.toLowerCase() : event.key;
  if (key === "?") keys.showModal();
  else if (key === "s") nextSpeed();
  else if (key === "j") show(current + 1);
  else if (key === "k") show(current - 1);
  else if (key === " " && !pressable(event.target)) {
    const audio = findings[current]?.querySelector("audio");
    if (!audio) return;
    play(audio);
  } else if ("cerp123".includes(key)) press(key);
  else return;
  event.preventDefault();
}

const keys = document.getElementById("keys");
const toggle = document.getElementById("shortcuts");
if (toggle) { // not on the page for signing in
  toggle.closest("[hidden]").hidden = false;
  toggle.checked = recall(SWITCH) !== "off";
  toggle.addEventListener("change", () => remember(SWITCH, toggle.checked ? "on" : "off"));
  document.getElementById("show-keys").addEventListener("click", () => keys.showModal());
  document.addEventListener("keydown", (event) => { if (toggle.checked) onKey(event); });
}

document.addEventListener("focusin", (event) => {
  const at = findings.indexOf(event.target.closest("article"));
  if (at >= 0 && at !== current) show(at, false);
});

if (speed) {
  speed.closest("[hidden]").hidden = false;
  setSpeed(recall(SPEED));
  speed.addEventListener("change", () => { setSpeed(speed.value); remember(SPEED, speed.value); });
}

document.querySelectorAll("audio[src*='#t=']").forEach((audio) => {
  audio.addEventListener("play", () => {
    document.querySelectorAll("audio").forEach((other) => { if (other !== audio) other.pause(); });
  });
  let before = 0; // stop where the words end, but let a reviewer listen on from there
  audio.addEventListener("timeupdate", () => {
    const [, end] = span(audio);
    if (!audio.seeking && before < end && audio.currentTime >= end) audio.pause();
    before = audio.currentTime;
  });
});

document.querySelectorAll(".errors a[href^='#']").forEach((link) => {
  link.addEventListener("click", () => {
    const field = document.getElementById(link.hash.slice(1));
    field?.closest("details")?.setAttribute("open", "");
    field?.focus();
  });
});

// After a decision the address names the finding to go on with; the browser itself puts the focus there.
const target = location.hash ? document.getElementById(location.hash.slice(1)) : null;
if (target?.closest("article")) show(findings.indexOf(target.closest("article")), !document.querySelector(".errors"));
