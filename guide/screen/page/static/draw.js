// Draws the view. Nothing is decided here: every word, key and mark comes with the view.

const at = (id) => document.getElementById(id);
const MOST_LINES = 500;
const NS = "http://www.w3.org/2000/svg";
const drawn = new Map();
let asked = 0;
let answered = 0;

/** Whether a part is to be drawn anew, for what it shows is another. */
function another(part, what) {
  const now = JSON.stringify(what);
  if (drawn.get(part) === now) return false;
  drawn.set(part, now);
  return true;
}

function element(name, text = "", kind = "") {
  const made = document.createElement(name);
  made.textContent = text;
  if (kind) made.className = kind;
  return made;
}

/** Draws the view; `touched` is told which key was touched. */
export function draw(view, all, said, touched) {
  document.title = view.title;
  at("part").textContent = view.progress.part || view.title;
  at("progress").textContent = view.progress.text;
  at("ear").textContent = view.over ? "" : `${view.ear.mark} ${view.ear.words}`;
  at("banner").textContent = view.banner;
  at("headline").textContent = view.request.headline;
  if (another("details", view.request.details)) {
    at("details").replaceChildren(...view.request.details.flatMap((one) => [element("p", one), " "]));
    at("request").scrollTop = 0;
  }
  document.body.dataset.pad = view.keypad.kind;
  document.body.toggleAttribute("data-over", view.over);
  if (view.request.number !== asked) {
    asked = view.request.number;
    document.body.dataset.show = "keys";
    at("request").scrollTop = 0;
  } else if (view.answer > answered) {
    document.body.dataset.show = "talk";
  }
  answered = view.answer;
  drawDoor(view.request);
  if (another("stale", view.stale)) at("stale").replaceChildren(...view.stale.map((one) => element("p", `! ${one.text}`)));
  if (another("cautions", view.cautions)) {
    at("cautions").replaceChildren(...view.cautions.map((one) => element("p", `! ${one}`)));
    at("cautions").scrollTop = 0;
  }
  drawTalk(view.lines, all);
  drawKeys(view, touched);
  changeOver(said);
  const line = at("line");
  line.placeholder = view.hint;
  line.type = view.secret ? "password" : "text";
  at("say").hidden = view.over;
}

/** Draws a reading big: what was understood, or is being typed. */
export function drawFigure(reading) {
  if (!another("figure", reading)) return;
  const size = at("size");
  size.replaceChildren();
  at("figure").classList.toggle("out", reading?.verdict === "out");
  at("told-size").textContent = reading?.told ?? "";
  if (!reading) return;
  size.append([reading.whole, reading.part].filter(Boolean).join(" "), element("span", reading.unit, "unit"));
}

function drawDoor(request) {
  if (!another("door", [request.outline, request.marks])) return;
  const door = at("door");
  door.replaceChildren();
  door.classList.toggle("none", !request.outline);
  door.toggleAttribute("hidden", !request.outline);
  if (!request.outline) return;
  const make = (name, values) => {
    const made = document.createElementNS(NS, name);
    for (const [key, value] of Object.entries(values)) made.setAttribute(key, value);
    door.append(made);
  };
  const x = (across) => 10 + 20 * across;
  const y = (up) => 90 - 20 * up;
  make("rect", { x: 10, y: 10, width: 80, height: 80 });
  if (request.outline === "pair") make("line", { x1: 50, y1: 10, x2: 50, y2: 90 });
  for (const mark of request.marks) {
    const ends = { x1: x(mark.from_across), y1: y(mark.from_up), x2: x(mark.to_across), y2: y(mark.to_up) };
    make("line", { ...ends, class: "mark" });
    make("circle", { cx: ends.x1, cy: ends.y1, r: 8 });
    make("circle", { cx: ends.x2, cy: ends.y2, r: 8 });
  }
}

/** What the crew said last, and what was answered, comes into sight. */
function intoSight() {
  const said = at("talk").querySelectorAll(".crew");
  at("talk").scrollTop = said.length ? said[said.length - 1].offsetTop : 0;
}

new ResizeObserver(intoSight).observe(at("talk"));

function drawTalk(lines, all) {
  const talk = at("talk");
  if (all) talk.replaceChildren();
  if (!lines.length) return;
  for (const line of lines) {
    const made = element("p", "", `${line.kind} ${line.tone}`.trim());
    made.append(element("span", line.mark, "mark"), line.text);
    talk.append(made);
  }
  while (talk.childElementCount > MOST_LINES) talk.firstElementChild.remove();
  intoSight();
  at("told").textContent = all ? "" : lines.filter((line) => line.kind !== "crew").map((line) => line.text).join(" ");
}

/** The key that changes over says what it brings. */
export function changeOver(said) {
  at("change-over").textContent = document.body.dataset.show === "keys" ? said.talk : said.keys;
}

function drawKeys(view, touched) {
  if (another("helps", view.helps)) {
    const change = key({ label: "", does: "change", text: "" }, touched);
    change.id = "change-over";
    at("helps").replaceChildren(...view.helps.map((one) => key({ ...one, help: true }, touched)), change);
  }
  if (!another("keys", view.keypad)) return;
  const pad = view.keypad;
  const words = pad.kind === "choice";
  at("keys").classList.toggle("two", pad.blocks.length > 1);
  at("keys").replaceChildren(...pad.blocks.filter((block) => block.length).map((block) => {
    const made = element("div", "", words ? "block words" : "block");
    made.style.gridTemplateColumns = `repeat(${pad.columns}, minmax(0, 1fr))`;
    made.append(...block.map((one) => key(one, touched)));
    return made;
  }));
  at("keys").scrollTop = 0;
}

function key(one, touched) {
  const made = element("button", one.label, one.does === "send" ? "sure" : "");
  made.type = "button";
  if (one.words) made.append(" ", element("small", one.words));
  made.addEventListener("click", () => touched(one));
  return made;
}
