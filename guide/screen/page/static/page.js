// The page's connection to the job: what is touched and typed goes there, what is to be drawn comes back.
// Words that are sent are kept until the guide has taken them, and said again after a lost connection.

import { changeOver, draw, drawFigure } from "./draw.js";
import { Voice } from "./voice.js";

const said = JSON.parse(document.querySelector("meta[name=said]").content);
const at = (id) => document.getElementById(id);
const line = at("line");

const SILENT = 12000; // ms without a sign of life, after which a connection is dead
const WAITS = [200, 500, 1000, 2000, 4000]; // ms before another try
const FULL = 256 * 1024; // bytes of sound that may wait to be sent

const newTab = () => [...crypto.getRandomValues(new Uint8Array(12))].map((byte) => byte.toString(16).padStart(2, "0")).join("");
const kept = JSON.parse(sessionStorage.getItem("page") ?? "{}"); // from before this page was loaded anew
let tab = kept.tab ?? newTab();
const pending = new Map(kept.pending);
let talk = null;
let heard = 0;
let tries = 0;
let trying = 0;
let last = 0;
let count = kept.count ?? 0;
let view = null;
let writes = false;
let hasVoice = false;
let announced = false; // the guide knows of this page's sound
let voice = null;
let ended = false;
let notice = ""; // what this browser can't do
let lost = false;
let asked = 0; // messages about the line that were sent, and the last that was answered
let answered = 0;
let sends = ""; // the line is sent once all its keys are in it

// The door

function state(name) {
  document.body.dataset.state = name;
  at("job").hidden = name !== "job";
  at("entry").hidden = name !== "code";
}

async function enter(code) {
  at("link").textContent = "";
  let answer = null;
  try {
    answer = await fetch("enter", { method: "POST", body: JSON.stringify({ code }) });
  } catch {
    needCode(said.unreached);
    return;
  }
  if (!answer.ok) {
    needCode(said["code-wrong"]);
    return;
  }
  localStorage.setItem("key", (await answer.json()).key);
  at("code").value = "";
  connect();
}

function needCode(why) {
  state("code");
  at("link").textContent = why ?? "";
  at("code").focus();
}

at("entry").addEventListener("submit", (event) => {
  event.preventDefault();
  enter(at("code").value);
});

// The connection

function connect() {
  clearTimeout(trying);
  drop();
  const made = new WebSocket(`${location.protocol === "https:" ? "wss" : "ws"}://${location.host}/talk`);
  made.binaryType = "arraybuffer";
  talk = made;
  heard = Date.now();
  announced = false;
  made.addEventListener("open", () => {
    send({ kind: "here", key: localStorage.getItem("key") ?? "", tab, last });
    for (const [id, one] of pending) send({ kind: "say", id, words: one.words, by: one.by, request: one.request });
    if (line.value && !view?.secret) sayLine();
  });
  made.addEventListener("message", (event) => {
    if (talk === made) take(event.data);
  });
  made.addEventListener("close", (event) => {
    if (talk === made) closed(event.code);
  });
}

/** Lets go of a connection, whatever becomes of it. */
function drop() {
  const old = talk;
  talk = null;
  old?.close();
}

async function closed(code) {
  talk = null;
  if (ended) return;
  linked(false);
  if (code === 4409) {
    tab = newTab(); // this page was doubled: what waited belongs to the other one
    pending.clear();
    waiting();
  }
  if (code === 4401) {
    needCode(said["code-late"]);
    return;
  }
  try {
    const answer = await fetch("here");
    if (answer.status === 401) {
      needCode(view ? said["code-late"] : "");
      return;
    }
  } catch {
    // Nobody answers: try again.
  }
  clearTimeout(trying);
  trying = setTimeout(connect, WAITS[Math.min(tries, WAITS.length - 1)]);
  tries += 1;
}

function linked(there) {
  document.body.dataset.link = there ? "there" : "lost";
  if (document.body.dataset.state !== "code") at("link").textContent = there ? notice : said.offline;
}

function send(message) {
  if (talk?.readyState === WebSocket.OPEN) talk.send(JSON.stringify(message));
}

function sendSound(block) {
  if (!writes || talk?.readyState !== WebSocket.OPEN) return;
  if (talk.bufferedAmount > FULL) {
    lost = true;
    return;
  }
  if (lost) talk.send(new ArrayBuffer(0));
  lost = false;
  talk.send(block);
}

function look() {
  if (ended || document.body.dataset.state === "code") return;
  if (talk && Date.now() - heard > SILENT) {
    drop();
    closed(0);
  }
}

function wake() {
  if (document.visibilityState !== "visible" || ended || document.body.dataset.state !== "job") return;
  voice?.wake();
  tries = 0;
  if (!talk || Date.now() - heard > SILENT / 2) connect();
}

setInterval(look, 1000);
for (const name of ["visibilitychange", "pageshow", "online", "focus"]) addEventListener(name, wake);

// What comes

function take(data) {
  heard = Date.now();
  if (data instanceof ArrayBuffer) {
    voice?.play(data);
    return;
  }
  const message = JSON.parse(data);
  const doing = TAKEN[message.kind];
  if (doing) doing(message);
}

const TAKEN = {
  view(message) {
    tries = 0;
    view = message.view;
    if (view.lines.length) last = view.lines[view.lines.length - 1].number;
    state("job");
    linked(true);
    draw(view, message.all, said, touched);
    if (!line.value) drawFigure(view.reading);
    at("send").textContent = "OK";
    document.body.dataset.drawn = String(Number(document.body.dataset.drawn ?? 0) + 1);
    if (document.body.dataset.drawn === "1") performance.mark("usable");
  },
  role(message) {
    writes = message.writes;
    hasVoice = message.voice;
    document.body.dataset.role = writes ? "write" : "watch";
    at("role").textContent = writes ? (message.others ? said.others : "") : said.watching;
    at("take-over").hidden = writes;
    if (!writes) {
      announced = false;
      voice?.quiet();
    } else if (voice?.ready && !announced) {
      announced = true;
      voice.here();
    }
    offer();
  },
  line(message) {
    answered = message.n;
    if (message.n !== asked) return;
    if (line.value !== message.text) line.value = message.text;
    drawFigure(message.reading ?? (line.value ? null : view?.reading));
    if (sends) sendLine(sends);
  },
  taken(message) {
    pending.delete(message.id);
    waiting();
  },
  "not-taken"(message) {
    const words = pending.get(message.id);
    pending.delete(message.id);
    if (words?.by === "typed" && !line.value) line.value = words.words;
    waiting();
  },
  quiet() {
    voice?.quiet();
  },
  end(message) {
    ended = true;
    voice?.quiet();
    at("link").textContent = message.text;
    for (const one of document.querySelectorAll("#keys button, #helps button, #start")) one.disabled = true;
  },
};

// What goes

function say(words, by, request) {
  count += 1;
  pending.set(count, { words, by, request, secret: view?.secret });
  send({ kind: "say", id: count, words, by, request });
  waiting();
}

let slow = 0;
function waiting() {
  clearTimeout(slow);
  document.body.dataset.pending = pending.size;
  const open = [...pending].filter(([, one]) => !one.secret);
  sessionStorage.setItem("page", JSON.stringify({ tab, count, pending: open }));
  if (!pending.size) {
    document.body.removeAttribute("data-waiting");
    line.placeholder = view?.hint ?? "";
  } else {
    slow = setTimeout(() => {
      document.body.dataset.waiting = "";
      line.placeholder = said.waiting;
    }, 300);
  }
}

function sayLine() {
  asked += 1;
  send({ kind: "line", n: asked, text: line.value });
}

function sendLine(by) {
  sends = "";
  const words = line.value;
  line.value = "";
  asked += 1;
  answered = asked;
  say(words, by, 0);
}

function touched(key) {
  if (!writes) return;
  if (key.does === "change") {
    document.body.dataset.show = document.body.dataset.show === "keys" ? "talk" : "keys";
    changeOver(said);
  } else if (key.does === "type") {
    asked += 1;
    send({ kind: "press", n: asked, key: key.text });
  } else if (key.does === "send") {
    if (talk && answered < asked) sends = "touch";
    else sendLine("touch");
  } else {
    line.value = "";
    sayLine();
    say(key.text, "touch", key.help ? 0 : view.request.number);
  }
}

line.addEventListener("input", () => {
  sayLine();
  if (!talk) drawFigure(null);
});

at("say").addEventListener("submit", (event) => {
  event.preventDefault();
  if (writes) sendLine("typed");
});

at("take-over").textContent = said["take-over"];
at("take-over").addEventListener("click", () => send({ kind: "take-over" }));

// Sound

function offer() {
  at("start").hidden = !(writes && hasVoice && !voice);
}

at("start").textContent = said.start;
at("start").addEventListener("click", async () => {
  if (voice) return;
  at("start").textContent = said.starting;
  voice = new Voice(send, sendSound, () => {
    voice = null;
    at("start").textContent = said.start;
    offer();
  });
  try {
    announced = true;
    await voice.start();
    notice = voice?.why ? said["no-microphone"].replace("{why}", voice.why) : "";
  } catch (fault) {
    voice = null;
    at("start").textContent = said.start;
    notice = said["no-sound"].replace("{why}", fault.name);
  }
  linked(document.body.dataset.link === "there");
  offer();
});

// Colours

function themed() {
  const dark = matchMedia("(prefers-color-scheme: dark)").matches;
  const now = document.documentElement.dataset.theme ?? (dark ? "dark" : "sunlight");
  at("theme").textContent = now === "dark" ? said.sunlight : said.dark;
  return now;
}

if (localStorage.getItem("theme")) document.documentElement.dataset.theme = localStorage.getItem("theme");
themed();
at("theme").addEventListener("click", () => {
  document.documentElement.dataset.theme = themed() === "dark" ? "sunlight" : "dark";
  localStorage.setItem("theme", document.documentElement.dataset.theme);
  themed();
});
matchMedia("(prefers-color-scheme: dark)").addEventListener("change", themed);

// Begin

/** Gives the code that stands in the address, and takes it out of there; whether there was one. */
function coded() {
  const code = location.hash.slice(1);
  if (!code) return false;
  history.replaceState(null, "", location.pathname);
  enter(code);
  return true;
}

addEventListener("hashchange", coded);
waiting();
if (!coded()) connect();
