"use strict";
/* Answers while the form is filled in. The server renders every answer; this only asks for it and puts it in place. */

const UNITS = { temperature: "c", volume: "l" };
const RING_PARTS = ["body", "cones", "condition", "replaced", "ring_fluid_family", "ring_fluid_grade"];
const texts = new WeakMap();
const NUMBER = "[−-]?\\d[\\d\\u00a0]*(?:\\.\\d+)?";
const TEMPERATURES = new RegExp(`(${NUMBER})(?:(\\*?(?: to | and |–))(${NUMBER}))?(\\*?)([ \\u00a0])°C(?![ \\u00a0]\\(KV)`, "g");
const VOLUMES = new RegExp(`(${NUMBER})([ \\u00a0])litres?\\b`, "g");

const remembered = (name) => { try { return localStorage.getItem(`fillwright-${name}`); } catch { return null; } };
const remember = (name, value) => { try { localStorage.setItem(`fillwright-${name}`, value); } catch { /* private window */ } };
const valueOf = (text) => Number(text.replace("−", "-").replace(/\u00a0/g, ""));
/* As many decimals as before, and the same sign: a list is searched by typing a plain hyphen. */
const setAs = (value, text) => value.toFixed((text.split(".")[1] || "").length).replace(/^-(?=0(\.0+)?$)/, "").replace("-", text[0]);
const fahrenheit = (text) => setAs(valueOf(text) * 1.8 + 32, text);

function inUnits(text) {
  let written = text;
  if (UNITS.temperature === "f")
    written = written.replace(TEMPERATURES, (_, first, joint, second, mark, space) =>
      fahrenheit(first) + (second ? joint + fahrenheit(second) : "") + mark + space + "°F");
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
  const panel = document.querySelector(".units");
  if (!panel) return;
  panel.hidden = false;
  for (const input of panel.querySelectorAll("input")) {
    const name = input.name.replace("unit-", "");
    if (remembered(name) === input.value) input.checked = true;
    if (input.checked) UNITS[name] = input.value;
    input.addEventListener("change", () => {
      UNITS[name] = input.value;
      remember(name, input.value);
      showUnits(document.querySelector("main"));
    });
  }
  showUnits(document.querySelector("main"));
}

function address() {
  const query = new URLSearchParams();
  for (const [name, value] of new FormData(document.getElementById("question"))) if (value.trim()) query.append(name, value.trim());
  if (query.get("facing") === "none") for (const part of RING_PARTS) query.delete(part);
  return `./${query.size ? "?" + query : ""}`;
}

let asking = null;
let shown = Promise.resolve();
const isBusy = () => document.getElementById("answer").ariaBusy === "true";

function show(where, wanted) {
  shown = put(where, wanted);
  return shown;
}

async function put(where, { form = false, focus = false } = {}) {
  asking?.abort();
  const own = asking = new AbortController();
  document.getElementById("answer").ariaBusy = "true";
  let page;
  try {
    const response = await fetch(where, { signal: own.signal, headers: { Accept: "text/html" } });
    page = new DOMParser().parseFromString(await response.text(), "text/html");
    if (!page.getElementById("answer")) throw new Error("no answer");
  } catch (error) {
    if (error.name !== "AbortError") window.location.assign(where);
    return;
  }
  for (const id of form ? ["question", "answer"] : ["answer"]) {
    const fresh = document.adoptNode(page.getElementById(id));
    if (id === "question") keepOpen(document.getElementById(id), fresh);
    showUnits(fresh);
    document.getElementById(id).replaceWith(fresh);
  }
  const words = inUnits(page.getElementById("jump-words").textContent);
  document.getElementById("jump-words").textContent = words;
  document.getElementById("news").textContent = words;
  if (focus) (document.querySelector("#answer .ask .reply") || document.getElementById("answer")).focus({ preventScroll: true });
}

function keepOpen(from, to) {
  const fresh = to.querySelectorAll("details");
  from.querySelectorAll("details").forEach((one, place) => { if (one.open && fresh[place]) fresh[place].open = true; });
}

let lastWritten = null;
let waiting = null;
let lastTyped = null;
function asked(target) {
  clearTimeout(waiting);
  waiting = null;
  const where = address();
  if (new URL(where, location).href === location.href) return;
  const writesOn = target.matches("input[list], input:not([type])") && lastWritten === target.name;
  history[writesOn ? "replaceState" : "pushState"](null, "", where);
  lastWritten = target.name;
  show(where);
}

function startCounter() {
  document.body.classList.add("live");
  document.addEventListener("input", (event) => {
    if (!event.target.closest("#question")) return;
    clearTimeout(waiting);
    if (event.target.matches("[type=radio], [type=checkbox], select")) asked(event.target);
    else waiting = setTimeout(asked, 350, lastTyped = event.target);
  });
  document.addEventListener("submit", (event) => {
    if (event.target.id !== "question") return;
    event.preventDefault();
    asked(event.target);
  });
  document.addEventListener("click", (event) => {
    const link = event.target.closest("a.reply, a[data-key]");
    if (!link || event.ctrlKey || event.metaKey || event.shiftKey || event.button) return;
    if (link.closest("#answer") && (isBusy() || waiting)) { event.preventDefault(); clickWhenShown(alike(link)); }
    else if (link.matches(".reply, [data-key=clear]")) { event.preventDefault(); follow(link); }
  });
  window.addEventListener("popstate", () => show(location.href, { form: true }));
}

/* An answer that is being replaced speaks of another question: wait for the new one and take the same link there. */
async function clickWhenShown(selector) {
  if (waiting) asked(lastTyped);
  await shown;
  document.querySelector(selector)?.click();
}

function alike(link) {
  const { key, field, value } = link.dataset;
  return key ? `[data-key="${key}"]` : `#answer .reply[data-field="${field}"][data-value="${value}"]`;
}

async function follow(link) {
  lastWritten = null;
  const { field } = link.dataset;
  history.pushState(null, "", link.getAttribute("href"));
  await show(location.href, { form: true, focus: Boolean(field) });
  if (field) document.querySelector(`.field[data-field="${field}"]`)?.classList.add("touched");
  else document.querySelector("#question input[name=facing]").focus();
}

function startKeys() {
  document.addEventListener("keydown", (event) => {
    const wanted = { F2: "clear", F9: "print" }[event.key];
    if (!wanted || event.ctrlKey || event.altKey || event.metaKey || event.shiftKey) return;
    if (!document.querySelector(`[data-key="${wanted}"]`)) return;
    event.preventDefault();
    clickWhenShown(`[data-key="${wanted}"]`);
  });
}

function startSlip() {
  const button = document.querySelector("button[data-key=print]");
  if (!button) return;
  button.hidden = false;
  button.addEventListener("click", () => window.print());
}

startUnits();
startKeys();
if (document.getElementById("question")) startCounter(); else startSlip();
