"use strict";
/* Answers while the rows are filled in. The server renders every answer; this only asks for it and puts it in place. */

const UNITS = { temperature: "c", volume: "l" };
const RING_PARTS = ["body", "cones", "condition", "replaced", "ring_fluid_family", "ring_fluid_grade", "other_facing"];
const texts = new WeakMap();
const NUMBER = "[−-]?\\d[\\d\\u00a0]*(?:\\.\\d+)?";
const TEMPERATURES = new RegExp(`((?:below|above|over|under|down to|up to) )?(${NUMBER})(?:(\\*?(?: to | and |–))(${NUMBER}))?(\\*?)([ \\u00a0])°C(?![ \\u00a0]\\(KV)`, "g");
const VOLUMES = new RegExp(`(${NUMBER})([ \\u00a0])litres?\\b`, "g");

const byId = (id) => document.getElementById(id);
const remembered = (name) => { try { return localStorage.getItem(`fillwright-${name}`); } catch { return null; } };
const remember = (name, value) => { try { localStorage.setItem(`fillwright-${name}`, value); } catch { /* private window */ } };
const valueOf = (text) => Number(text.replace("−", "-").replace(/\u00a0/g, ""));
/* As many decimals as before, and the same sign. */
const setAs = (value, text) => value.toFixed((text.split(".")[1] || "").length).replace(/^-(?=0(\.0+)?$)/, "").replace("-", text[0]);
const fahrenheit = (text) => setAs(valueOf(text) * 1.8 + 32, text);

function inUnits(text) {
  let written = text;
  if (UNITS.temperature === "f")
    /* Limits are told in steps of 5 °C; in Fahrenheit they would look exact. */
    written = written.replace(TEMPERATURES, (_, limit, first, joint, second, mark, space) =>
      (limit ? limit + "about " : "") + fahrenheit(first) + (second ? joint + fahrenheit(second) : "") + mark + space + "°F");
  if (UNITS.volume === "qt")
    written = written.replace(VOLUMES, (_, litres, space) => `${(valueOf(litres) / 0.946352946).toFixed(1)}${space}US quarts`);
  return written;
}

function showUnits(root) {
  const walker = document.createTreeWalker(root, NodeFilter.SHOW_TEXT);
  for (let node = walker.nextNode(); node; node = walker.nextNode()) {
    /* A line of a data sheet keeps the name that is printed there. */
    if (node.parentElement.closest("[data-as-printed]")) continue;
    if (!texts.has(node)) texts.set(node, node.data);
    const written = inUnits(texts.get(node));
    if (written !== node.data) node.data = written;
  }
}

function startUnits() {
  const main = document.querySelector("main");
  document.querySelector(".units").hidden = false;
  for (const button of document.querySelectorAll("[data-unit]")) {
    const { unit, to } = button.dataset;
    const usual = UNITS[unit];
    const use = (value) => { UNITS[unit] = value; button.ariaPressed = String(value === to); };
    use(remembered(unit) || usual);
    button.addEventListener("click", () => {
      use(UNITS[unit] === to ? usual : to);
      remember(unit, UNITS[unit]);
      showUnits(main);
    });
  }
  showUnits(main);
}

function address() {
  const form = byId("question"), query = new URLSearchParams();
  const untouched = new Set([...form.querySelectorAll("[data-untouched]")].map((one) => one.name));
  for (const [name, value] of new FormData(form)) if (value.trim() && !untouched.has(name)) query.append(name, value.trim());
  if (query.get("facing") === "none") for (const part of RING_PARTS) query.delete(part);
  return new URL(`${form.getAttribute("action")}${query.size ? "?" + query : ""}`, document.baseURI).href;
}

let asking = null;
let shown = Promise.resolve();
const isBusy = () => byId("answer").ariaBusy === "true";

function show(where, wanted) {
  shown = put(where, wanted);
  return shown;
}

async function put(where, { rows = false } = {}) {
  asking?.abort();
  const own = asking = new AbortController();
  byId("answer").ariaBusy = "true";
  byId("news").textContent = "";
  let page;
  try {
    const response = await fetch(where, { signal: own.signal, headers: { Accept: "text/html" } });
    page = new DOMParser().parseFromString(await response.text(), "text/html");
    if (!page.getElementById("answer")) return stale(where, response.status === 503 ? "Too much is asked at once" : "No answer");
  } catch (error) {
    if (error.name !== "AbortError") stale(where, "No connection");
    return;
  }
  const fresh = document.adoptNode(page.getElementById("answer"));
  showUnits(fresh);
  byId("answer").replaceWith(fresh);
  for (const id of ["said", "question"]) {
    const newer = page.getElementById(id), older = byId(id);
    if (!newer || !older) continue;
    if (id === "question" && !rows) takeChips(older, newer);
    else { keepOpen(older, newer); showUnits(newer); older.replaceWith(document.adoptNode(newer)); }
  }
  for (const link of document.querySelectorAll(".top nav a")) link.search = new URL(where).search;
  byId("news").textContent = fresh.querySelector("h1").textContent;
}

/* The answer on the page is of the question before, and says so; whatever is pressed in it asks again. */
function stale(where, why) {
  byId("answer").ariaBusy = "false";
  byId("answer").dataset.stale = where;
  const told = document.createElement("p");
  told.className = "mistakes";
  told.textContent = `${why}: what stands below is for the question before. `;
  const again = document.createElement("button");
  again.textContent = "Try again";
  again.addEventListener("click", () => show(where));
  told.append(again);
  byId("answer").querySelector(".mistakes")?.remove();
  byId("answer").prepend(told);
  told.scrollIntoView({ block: "nearest" });
  byId("news").textContent = told.firstChild.data;
}

/* What is typed or has focus stays; only what each row comes to is taken over. */
function takeChips(older, newer) {
  const rows = newer.querySelectorAll(".row");
  older.querySelectorAll(".row").forEach((row, place) => {
    const chip = document.adoptNode(rows[place].querySelector(".chip"));
    showUnits(chip);
    row.querySelector(".chip").replaceWith(chip);
    row.querySelectorAll(".mistake").forEach((one) => one.remove());
    for (const mistake of rows[place].querySelectorAll(".mistake")) row.append(document.adoptNode(mistake));
  });
}

function keepOpen(from, to) {
  const fresh = to.querySelectorAll("details");
  from.querySelectorAll("details").forEach((one, place) => { if (one.open && fresh[place]) fresh[place].open = true; });
}

let lastWritten = null;
let waiting = null;
let byArrow = false;
let lastTarget = null;
function asked(target) {
  clearTimeout(waiting);
  waiting = null;
  const where = address();
  if (where === location.href) return;
  /* Typing on, or walking through choices by arrow, is one step back. */
  const goesOn = lastWritten === target.name && (byArrow || !target.matches("[type=radio], [type=checkbox], select"));
  history[goesOn ? "replaceState" : "pushState"](null, "", where);
  lastWritten = target.name;
  show(where);
}

function openNext(row) {
  row.open = false;
  let next = row.nextElementSibling;
  while (next?.matches(".row") && !next.querySelector(".chip.open")) next = next.nextElementSibling;
  if (!next?.matches(".row")) return row.querySelector("summary").focus();
  next.open = true;
  next.querySelector("summary").focus();
}

function startRows() {
  document.body.classList.add("live");
  document.addEventListener("keydown", (event) => { byArrow = event.key.startsWith("Arrow"); });
  document.addEventListener("pointerdown", () => { byArrow = false; });
  document.addEventListener("input", (event) => {
    const target = lastTarget = event.target;
    if (!target.closest("#question")) return;
    clearTimeout(waiting);
    if (target.matches("[type=range]")) { delete target.dataset.untouched; target.parentElement.querySelector("output").textContent = target.value; }
    if (target.matches("[type=radio]")) target.closest("fieldset").querySelectorAll(".other input").forEach((one) => { one.value = ""; });
    else target.closest("fieldset")?.querySelectorAll("[type=radio]").forEach((one) => { one.checked = false; });
    if (!target.matches("[type=radio], [type=checkbox], select")) { waiting = setTimeout(asked, 350, target); return; }
    asked(target);
    const row = target.closest(".row");
    if (row?.querySelector("fieldset, select")?.contains(target) && target.matches("[type=radio], select") && !byArrow && target.value) openNext(row);
  });
  document.addEventListener("submit", (event) => {
    if (event.target.id !== "question") return;
    event.preventDefault();
    asked(lastTarget || event.target);
    byId("answer").focus();
  });
  document.addEventListener("click", (event) => {
    const link = event.target.closest("a.reply, a[data-key], a.why");
    if (!link || event.ctrlKey || event.metaKey || event.shiftKey || event.button) return;
    const old = link.closest("[data-stale]");
    if (old && !isBusy()) { event.preventDefault(); show(old.dataset.stale); }
    else if (link.closest("#answer") && (isBusy() || waiting)) { event.preventDefault(); clickWhenShown(alike(link)); }
    else if (link.matches(".reply, [data-key=clear]")) { event.preventDefault(); follow(link); }
    else if (link.matches(".why")) { event.preventDefault(); showWhy(link); }
  });
  window.addEventListener("popstate", () => show(location.href, { rows: true }));
}

/* An answer that is being replaced is of another question: wait for the new one and take the same link there. */
async function clickWhenShown(selector) {
  if (waiting) asked(lastTarget);
  await shown;
  document.querySelector(selector)?.click();
}

function alike(link) {
  if (link.matches(".why")) return "#answer .why";
  return link.dataset.key ? `[data-key="${link.dataset.key}"]` : `#answer .reply[data-value="${link.dataset.value}"]`;
}

async function follow(link) {
  lastWritten = null;
  history.pushState(null, "", link.href);
  await show(location.href, { rows: true });
  (document.querySelector("#answer .reply") || byId("answer")).focus({ preventScroll: true });
}

async function showWhy(link) {
  try {
    const page = new DOMParser().parseFromString(await (await fetch(link.href)).text(), "text/html");
    const reasons = document.adoptNode(page.getElementById("reasons"));
    showUnits(reasons);
    byId("why").replaceChildren(reasons);
    startLater(reasons);
    reasons.tabIndex = -1;
    reasons.focus({ preventScroll: true });
    reasons.scrollIntoView({ block: "start" });
  } catch { location.assign(link.href); }
}

/* What takes long to work out is asked for once it comes in sight, and stays a link where that fails. */
function startLater(root) {
  const seen = new IntersectionObserver((entries) => {
    for (const { isIntersecting, target } of entries) if (isIntersecting) { seen.unobserve(target); workOut(target); }
  });
  for (const link of root.querySelectorAll(".later a")) seen.observe(link);
}

async function workOut(link) {
  const said = link.textContent;
  link.textContent = "One moment …";
  try {
    const page = new DOMParser().parseFromString(await (await fetch(link.href, { headers: { Accept: "text/html" } })).text(), "text/html");
    const found = document.adoptNode(page.getElementById("found"));
    found.removeAttribute("id");
    showUnits(found);
    link.parentElement.replaceWith(found);
  } catch { link.textContent = said; }
}

function startKeys() {
  document.addEventListener("keydown", (event) => {
    const wanted = { F2: "clear", F9: "print" }[event.key];
    if (!wanted || event.ctrlKey || event.altKey || event.metaKey || event.shiftKey) return;
    if (!document.querySelector(`[data-key="${wanted}"]`)) return;
    event.preventDefault();
    if (byId("answer")) clickWhenShown(`[data-key="${wanted}"]`);
    else document.querySelector(`[data-key="${wanted}"]`).click();
  });
}

function startPrint() {
  const button = document.querySelector("button[data-key=print]");
  if (!button) return;
  button.hidden = false;
  button.addEventListener("click", () => window.print());
}

document.querySelector(".top [aria-current]")?.scrollIntoView({ block: "nearest", inline: "center" });
startUnits();
startKeys();
startPrint();
startLater(document);
if (byId("question")) startRows();

/* Public questions: what is typed leaves the entries that hold it. */
function startFilter() {
  const field = document.querySelector(".filter input");
  if (!field) return;
  field.closest(".filter").hidden = false;
  field.addEventListener("input", () => {
    const words = field.value.toLowerCase().split(/\s+/).filter(Boolean);
    for (const entry of document.querySelectorAll(".faq details")) entry.hidden = !words.every((word) => entry.textContent.toLowerCase().includes(word));
    for (const head of document.querySelectorAll(".faq section")) head.hidden = !head.querySelector("details:not([hidden])");
  });
}

startFilter();
const wanted = location.hash.length > 1 && byId(decodeURIComponent(location.hash.slice(1)));
if (wanted instanceof HTMLDetailsElement) wanted.open = true;
