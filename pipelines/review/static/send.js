// What is sent from a phone is first kept on it, and removed when the shop's computer has said that it has it.
// Without this script the page is a plain form.

const FIRST_WAIT_MS = 5_000;
const LONGEST_WAIT_MS = 300_000;
const ANSWER_WITHIN_MS = 240_000; // the server gives an upload three minutes
const AWAY = "The shop's computer cannot be reached. This page sends them by itself as soon as it can.";
const NO_ROOM = "This phone cannot keep it and has no network. Leave this page open and press Send later.";
const SIGN_IN = "Sign in again; then they are sent.";

const form = document.querySelector(".send-files");
const box = document.querySelector(".kept");
const list = document.getElementById("kept-files");
const arrived = document.querySelector(".arrived");
const said = document.querySelector(".said");
let wait = FIRST_WAIT_MS;
let timer = 0;
let sending = false;
let onceMore = false;

function asked(request) {
  return new Promise((done, failed) => {
    request.onsuccess = () => done(request.result);
    request.onerror = () => failed(request.error);
  });
}

const opening = indexedDB.open("droplight.send", 1);
opening.onupgradeneeded = () => opening.result.createObjectStore("files", { keyPath: "id", autoIncrement: true });
const database = asked(opening);
database.catch(() => { /* a browser that keeps nothing: the form is sent as without this script */ });

async function kept() { return asked((await database).transaction("files").objectStore("files").getAll()); }

async function change(act) { // done only once the browser has written it
  const work = (await database).transaction("files", "readwrite", { durability: "strict" });
  act(work.objectStore("files"));
  await new Promise((done, failed) => {
    work.oncomplete = done;
    work.onabort = work.onerror = () => failed(work.error);
  });
}

const put = (file) => change((files) => files.put(file));
const remove = (id) => change((files) => files.delete(id));

function element(tag, text, where) {
  const made = where.appendChild(document.createElement(tag));
  made.textContent = text;
  return made;
}

function button(text, name, where, act) {
  const made = element("button", text, where);
  made.type = "button";
  made.setAttribute("aria-label", `${text}: ${name}`);
  made.addEventListener("click", act);
}

function truck() { // chosen on the form, and how people call it
  const chosen = form.querySelector("input[name=truck]:checked");
  const unit = form.querySelector("#unit").value.trim();
  return { truck: chosen.value, unit, called: unit || chosen.closest("label").querySelector("b")?.textContent || "" };
}

function line(file) {
  const item = element("li", "", list);
  element("b", file.name, item);
  const of = file.called ? ` for ${file.called}` : "";
  const at = new Date(file.made).toLocaleString([], { dateStyle: "medium", timeStyle: "short" });
  element("span", `${of}, ${at}. ${file.problem ? `It was not taken. ${file.problem}` : "Waiting."}`, item);
  if (!file.problem) return;
  if (form) button("Send for the truck chosen below", file.name, item, () => put({ ...file, ...truck(), problem: "" }).then(send));
  button("Remove from this phone", file.name, item, () => remove(file.id).then(show));
}

async function show(why = "") {
  const files = await kept();
  const waiting = files.filter((file) => !file.problem).length;
  box.hidden = !files.length;
  document.getElementById("kept-title").textContent = waiting
    ? `Kept on this phone: ${waiting} waiting` : "Kept on this phone: not taken";
  document.getElementById("kept-why").textContent = waiting ? why : "";
  document.getElementById("kept-again").hidden = !waiting;
  list.replaceChildren();
  files.forEach(line);
}

async function post(file) { // what came back, or null when nobody was there
  const body = new FormData();
  body.set("truck", file.truck);
  body.set("unit", file.unit);
  // By this phone's clock both, so that it may be wrong.
  body.set("age_s", String(Math.max(0, Math.round((Date.now() - file.made) / 1000))));
  body.set("files", file.bytes, file.name);
  const headers = { accept: "application/json" };
  const within = AbortSignal.timeout(ANSWER_WITHIN_MS);
  try {
    const answer = await fetch("/bay/send", { method: "POST", body, headers, redirect: "manual", signal: within });
    const json = answer.headers.get("content-type")?.startsWith("application/json");
    return { kind: answer.type, status: answer.status, said: json ? await answer.json() : null };
  } catch {
    return null;
  }
}

// "taken", "refused" (the reason is kept with the file), or why all the rest has to wait.
async function sendOne(file) {
  const answer = await post(file);
  // A page of somebody else's, as a guest network shows before it lets one through, is no answer either.
  const stranger = answer?.status === 200 && !answer.said;
  if (answer === null || stranger || answer.status >= 500 || [408, 429].includes(answer.status)) return AWAY;
  if (answer.kind === "opaqueredirect" || [401, 403].includes(answer.status)) return SIGN_IN;
  const [one] = answer.said?.taken ?? [];
  if (answer.status === 200 && one && !one.problem) {
    await remove(file.id);
    return "taken";
  }
  const problem = one?.problem || answer.said?.wrong || `The shop's computer refused it (${answer.status}).`;
  await put({ ...file, problem });
  return "refused";
}

async function send() {
  if (sending) { onceMore = true; return; } // what is chosen meanwhile goes with the next round
  sending = true;
  clearTimeout(timer);
  const files = (await kept()).filter((file) => !file.problem);
  let why = "";
  let taken = 0;
  let tried = 0;
  for (const file of files) {
    await show(`Sending ${file.name}.`);
    const went = await sendOne(file);
    if (!["taken", "refused"].includes(went)) { why = went; break; }
    tried += 1;
    taken += went === "taken";
  }
  sending = false;
  await show(why);
  tell(files, taken, tried, why);
  if (why === AWAY) {
    timer = setTimeout(send, wait);
    wait = Math.min(2 * wait, LONGEST_WAIT_MS);
  } else {
    wait = FIRST_WAIT_MS;
  }
  if (onceMore) { onceMore = false; await send(); }
}

function tell(files, taken, tried, why) {
  if (tried) {
    const trucks = new Set(files.slice(0, tried).map((file) => file.called));
    const of = trucks.size === 1 && [...trucks][0] ? ` for ${[...trucks][0]}` : "";
    document.getElementById("arrived-title").textContent = `${taken} of ${tried} arrived${of}`;
    arrived.hidden = false;
  }
  const words = tried ? document.getElementById("arrived-title").textContent : "";
  const rest = why ? `Kept on this phone, ${files.length - tried} waiting.` : "";
  said.textContent = [words, rest].filter(Boolean).join(". ");
}

async function keep(files) {
  const most = Number(form.dataset.largest) * 2 ** 20;
  const large = files.filter((file) => file.size > most);
  if (large.length) throw new RangeError(`${large[0].name} is over ${form.dataset.largest} MB: send a shorter one.`);
  const read = [];
  for (const file of files) { // read to the end: what lies in the camera's folder may be gone later
    const bytes = new Blob([await file.arrayBuffer()], { type: file.type });
    read.push({ name: file.name, made: file.lastModified, bytes, problem: "", ...truck() });
  }
  await change((store) => read.forEach((file) => store.put(file)));
}

async function submitted(event) {
  const inputs = [...form.querySelectorAll("input[type=file]")];
  const files = inputs.flatMap((input) => [...input.files]);
  if (!files.length) { said.textContent = "Choose a photo or a recording first."; return; }
  const press = event.submitter;
  if (press) press.disabled = true;
  try {
    await keep(files);
    inputs.forEach((input) => { input.value = ""; });
    navigator.storage?.persist?.().catch(() => { /* it is kept all the same, as long as there is room */ });
    send();
  } catch (error) {
    if (error instanceof RangeError) said.textContent = error.message;
    else if (!navigator.onLine) said.textContent = NO_ROOM;
    else form.submit();
  } finally {
    if (press) press.disabled = false;
  }
}

form?.addEventListener("submit", (event) => { event.preventDefault(); submitted(event); });
document.getElementById("kept-again").addEventListener("click", () => { wait = FIRST_WAIT_MS; send(); });
window.addEventListener("online", () => { wait = FIRST_WAIT_MS; send(); });
database.then(send, () => { /* nothing is kept */ });
