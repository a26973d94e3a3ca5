// What the page does beyond forms and links: news from the server, keys, the photo, and sending photos.
// Everything works without it but these comforts. No script is made from text, and nothing goes elsewhere.
"use strict";

document.documentElement.classList.add("scripted");
const $ = (selector, root = document) => root.querySelector(selector);
const $$ = (selector, root = document) => [...root.querySelectorAll(selector)];

function say(text) {
  const status = $("#status");
  if (!status) return;
  status.textContent = text;
  clearTimeout(say.timer);
  say.timer = setTimeout(() => { status.textContent = ""; }, 5000);
}

// News: the parts of a page that show what may change are fetched anew, unless somebody is writing in them.
let news = 0;
function refresh() {
  clearTimeout(news);
  news = setTimeout(() => {
    const part = $("[data-live]");
    if (!part) return;
    const writing = document.activeElement;
    const busy = part.contains(writing) && writing.matches("input, select") && writing.value !== "";
    if (busy) { refresh(); return; }
    htmx.trigger(part, "news");
  }, 250);
}
if ($(".who")) {
  let last = null;
  const events = new EventSource("/events");
  events.onmessage = (event) => {
    if (last !== null && event.data !== last) refresh();
    last = event.data;
  };
  // After a break something may have been missed.
  events.onerror = () => { if (last !== null) last = ""; };
}

// The photo: its viewBox is what is seen of it.
class Viewer {
  constructor(root) {
    this.root = root;
    this.svg = $("svg", root);
    this.width = Number(this.svg.dataset.width);
    this.height = Number(this.svg.dataset.height);
    this.turned = 0;
    this.fit();
    $$("[data-zoom]", root).forEach((b) => b.addEventListener("click", () => this.act(b.dataset.zoom)));
    this.svg.addEventListener("wheel", (e) => { e.preventDefault(); this.zoom(e.deltaY < 0 ? 1.2 : 1 / 1.2, this.at(e)); }, { passive: false });
    this.pointers = new Map();
    this.svg.addEventListener("pointerdown", (e) => { this.pointers.set(e.pointerId, e); this.moved = false; });
    this.svg.addEventListener("pointermove", (e) => this.drag(e));
    for (const end of ["pointerup", "pointercancel", "pointerleave"]) this.svg.addEventListener(end, (e) => this.pointers.delete(e.pointerId));
    this.svg.addEventListener("keydown", (e) => this.key(e));
    // Of several photos the keys move the one that was last in use.
    for (const use of ["pointerdown", "focusin"]) root.addEventListener(use, () => { viewer = this; });
  }
  show() { this.svg.setAttribute("viewBox", [this.x, this.y, this.w, this.h].map((n) => n.toFixed(1)).join(" ")); }
  fit() {
    const sideways = this.turned % 180 !== 0;
    const [cx, cy] = [this.width / 2, this.height / 2];
    this.w = sideways ? this.height : this.width;
    this.h = sideways ? this.width : this.height;
    this.x = cx - this.w / 2; this.y = cy - this.h / 2;
    this.show();
  }
  at(e) {
    const point = new DOMPoint(e.clientX, e.clientY).matrixTransform(this.svg.getScreenCTM().inverse());
    return [point.x, point.y];
  }
  zoom(by, about = [this.x + this.w / 2, this.y + this.h / 2]) {
    const w = Math.min(Math.max(this.w / by, 40), 4 * Math.max(this.width, this.height));
    const k = w / this.w;
    this.x = about[0] - (about[0] - this.x) * k; this.y = about[1] - (about[1] - this.y) * k;
    this.w = w; this.h *= k;
    this.show();
  }
  turn() {
    this.turned = (this.turned + 90) % 360;
    $("[data-turn]", this.svg).setAttribute("transform", `rotate(${this.turned} ${this.width / 2} ${this.height / 2})`);
    this.fit();
  }
  act(what) {
    if (what === "in") this.zoom(1.4);
    if (what === "out") this.zoom(1 / 1.4);
    if (what === "fit") this.fit();
    if (what === "turn") this.turn();
  }
  drag(e) {
    const before = this.pointers.get(e.pointerId);
    if (!before) return;
    if (this.pointers.size === 2) {
      const other = [...this.pointers.values()].find((p) => p.pointerId !== e.pointerId);
      const gap = (p) => Math.hypot(p.clientX - other.clientX, p.clientY - other.clientY);
      if (gap(before) > 0) this.zoom(gap(e) / gap(before), this.at(e));
    } else {
      const [a, b] = [this.at(before), this.at(e)];
      this.x -= b[0] - a[0]; this.y -= b[1] - a[1];
      this.show();
    }
    this.moved = this.moved || Math.hypot(e.movementX, e.movementY) > 2;
    this.pointers.set(e.pointerId, e);
  }
  key(e) {
    const step = 0.12 * this.w;
    const moves = { ArrowLeft: [-step, 0], ArrowRight: [step, 0], ArrowUp: [0, -step], ArrowDown: [0, step] };
    if (!moves[e.key]) return;
    e.preventDefault();
    this.x += moves[e.key][0]; this.y += moves[e.key][1];
    this.show();
  }
  look(place) {
    const box = place.getBBox();
    const g = $("[data-turn]", this.svg);
    const m = g.transform.baseVal.consolidate()?.matrix ?? this.svg.createSVGMatrix();
    const c = new DOMPoint(box.x + box.width / 2, box.y + box.height / 2).matrixTransform(m);
    const ratio = this.svg.clientHeight / this.svg.clientWidth;
    this.w = Math.max(box.width * 3, box.height * 6, 80); this.h = this.w * ratio;
    this.x = c.x - this.w / 2; this.y = c.y - this.h / 2;
    this.show();
  }
}

// A field and its place on the photo light up together; of several photos the one with the place comes into sight.
let viewer = null;
const placeOf = (key) => $(`polygon[data-field="${CSS.escape(key)}"]`);
const viewers = new WeakMap();
function light(key, on, from) {
  $$(`[data-field="${CSS.escape(key)}"]`).forEach((e) => e.classList.toggle("lit", on));
  const root = placeOf(key)?.closest("[data-viewer]");
  if (on && root && !root.contains(from)) root.parentElement.scrollTop = root.offsetTop;
}
const known = new WeakSet();
function isNew(element) {
  const is = !known.has(element);
  known.add(element);
  return is;
}
function ready() {
  const roots = $$("[data-viewer]");
  roots.filter(isNew).forEach((root) => viewers.set(root, new Viewer(root)));
  if (!roots.includes(viewer?.root)) viewer = viewers.get(roots[0]) ?? null;
  $$("[data-field]").filter(isNew).forEach((e) => {
    const key = e.dataset.field;
    e.addEventListener("pointerenter", () => light(key, true, e));
    e.addEventListener("pointerleave", () => light(key, false));
    e.addEventListener("focusin", () => light(key, true, e));
    e.addEventListener("focusout", () => light(key, false));
    if (!e.matches("polygon")) return;
    e.addEventListener("click", () => {
      if (viewer?.moved) return;
      const key = CSS.escape(e.dataset.field);
      const target = $(`[data-ask][data-field="${key}"]`) ?? $(`.field[data-field="${key}"] summary`);
      target?.closest("details:not([open])")?.setAttribute("open", "");
      target?.focus();
      target?.scrollIntoView({ block: "nearest" });
    });
  });
  $$("[data-upload]").filter(isNew).forEach(sending);
}

// Photos: collected one by one, sent with progress, as they are.
function sending(form) {
  const files = [];
  const list = $(".previews", form);
  const bar = $("progress", form);
  const draw = () => {
    if (!list) return;
    list.replaceChildren(...files.map((file, at) => {
      const item = document.createElement("li");
      const image = document.createElement("img");
      image.src = URL.createObjectURL(file);
      image.alt = `Photo ${at + 1}`;
      image.onerror = () => { image.alt = file.name; };
      const drop = document.createElement("button");
      drop.type = "button"; drop.className = "quiet"; drop.textContent = `Leave out ${at + 1}`;
      drop.addEventListener("click", () => { files.splice(at, 1); draw(); });
      item.append(image, drop);
      return item;
    }));
    const send = $("[data-send]", form);
    send.textContent = files.length > 1 ? `Send ${files.length} photos of this motor` : "Send";
  };
  $$("input[type=file]", form).forEach((input) => input.addEventListener("change", () => {
    files.push(...input.files);
    input.value = "";
    input.required = false;
    draw();
    if (!form.hasAttribute("data-collect")) form.requestSubmit();
  }));
  form.addEventListener("submit", (e) => {
    e.preventDefault();
    if (files.length === 0) { say("Take or choose a photo first."); return; }
    const body = new FormData();
    $$("input[type=hidden]", form).forEach((i) => body.append(i.name, i.value));
    files.forEach((file) => body.append("photo", file, file.name));
    const request = new XMLHttpRequest();
    request.open("POST", form.action);
    bar.hidden = false;
    say("Sending…");
    request.upload.onprogress = (p) => { if (p.lengthComputable) bar.value = (100 * p.loaded) / p.total; };
    request.onerror = () => { bar.hidden = true; say("Not sent: no connection. The photos are still here; send again."); };
    request.onload = () => {
      bar.hidden = true;
      if (request.status < 400) { location.assign(request.responseURL); return; }
      const message = new DOMParser().parseFromString(request.responseText, "text/html").querySelector("main [role=alert]");
      say(message ? message.textContent : "Not sent. Try again.");
      files.length = 0;
      draw();
    };
    request.send(body);
  });
}

// Keys. None of them works while somebody writes.
function step(by) {
  const items = $$("[data-item]").length ? $$("[data-item]") : $$("[data-ask]").filter((a) => a.offsetParent !== null);
  if (items.length === 0) return;
  const here = items.findIndex((i) => i === document.activeElement || i.contains(document.activeElement));
  const next = here < 0 ? (by > 0 ? 0 : items.length - 1) : Math.min(Math.max(here + by, 0), items.length - 1);
  items[next].focus();
  items[next].scrollIntoView({ block: "nearest" });
}
function go(path) {
  const entry = $("[data-entry]")?.dataset.entry;
  if (entry) location.assign(`/entry/${encodeURIComponent(entry)}${path}`);
}
const keys = {
  "?": () => $("#help").showModal(),
  j: () => step(1), k: () => step(-1),
  "/": () => { const search = $("[data-search]"); if (search) search.focus(); else location.assign("/"); },
  g: () => location.assign("/"),
  c: () => go("/candidates"), p: () => go(""), s: () => go("/sheet"),
  n: () => { const next = $("[data-next]")?.dataset.next; if (next) location.assign(next); },
  u: () => $("[data-undo]")?.click(),
  e: () => { const ask = document.activeElement.closest("[data-ask]") ?? $("[data-ask]"); $("[data-other]", ask ?? document)?.focus(); },
  "+": () => viewer?.zoom(1.4), "-": () => viewer?.zoom(1 / 1.4), 0: () => viewer?.fit(), r: () => viewer?.turn(),
};
document.addEventListener("keydown", (e) => {
  if (e.ctrlKey || e.metaKey || e.altKey || $("#help")?.open) return;
  if (e.target.matches("input, select, textarea")) { if (e.key === "Escape") e.target.blur(); return; }
  const ask = document.activeElement.closest("[data-ask]");
  if (ask && /^[1-9]$/.test(e.key)) {
    const choice = $$("[data-choice]", ask)[Number(e.key) - 1];
    if (choice) { e.preventDefault(); choice.click(); }
    return;
  }
  const act = keys[e.key];
  if (act) { e.preventDefault(); act(); }
});
document.addEventListener("click", (e) => {
  if (e.target.closest("[data-help]")) $("#help").showModal();
  if (e.target.closest("[data-print]")) window.print();
  const look = e.target.closest("[data-look]");
  const place = look && placeOf(look.dataset.look);
  if (place) {
    viewer = viewers.get(place.closest("[data-viewer]"));
    viewer.look(place);
    viewer.svg.scrollIntoView({ block: "nearest" });
    light(look.dataset.look, true, look);
  }
});

// After an answer the page is another one: the next question gets the focus.
document.addEventListener("htmx:afterSettle", () => {
  ready();
  if (document.activeElement === document.body) {
    const next = $("[data-ask]") ?? $("#main");
    next?.focus({ preventScroll: true });
  }
});
document.addEventListener("htmx:responseError", (e) => {
  const page = new DOMParser().parseFromString(e.detail.xhr.responseText, "text/html");
  say(page.querySelector("main [role=alert]")?.textContent ?? "That did not work. Load the page again.");
});
document.addEventListener("htmx:sendError", () => say("No connection. Try again."));
ready();
