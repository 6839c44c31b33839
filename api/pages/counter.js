"use strict";
/* Answers while the form is filled in. The server renders every answer; this only asks for it and puts it in place. */

const UNITS = { temperature: "c", volume: "l" };
const texts = new WeakMap();
const NUMBER = "[−-]?\\d[\\d\\u00a0]*(?:\\.\\d+)?";
const TEMPERATURES = new RegExp(`(${NUMBER})(?:(\\*?(?: to | and |–))(${NUMBER}))?(\\*?)([ \\u00a0])°C`, "g");
const VOLUMES = new RegExp(`(${NUMBER})([ \\u00a0])litres?\\b`, "g");

const remembered = (name) => { try { return localStorage.getItem(`fillwright-${name}`); } catch { return null; } };
const remember = (name, value) => { try { localStorage.setItem(`fillwright-${name}`, value); } catch { /* private window */ } };
const valueOf = (text) => Number(text.replace("−", "-").replace(/\u00a0/g, ""));
/* As many decimals as before, and the same sign: a list is searched by typing a plain hyphen. */
const setAs = (value, text) => value.toFixed((text.split(".")[1] || "").length).replace(/^-(?=0(\.0+)?$)/, "").replace("-", text[0]);
const fahrenheit = (text) => setAs(valueOf(text) * 1.8 + 32, text);

function inUnits(text) {
  let said = text;
  if (UNITS.temperature === "f")
    said = said.replace(TEMPERATURES, (_, first, joint, second, mark, space) =>
      fahrenheit(first) + (second ? joint + fahrenheit(second) : "") + mark + space + "°F");
  if (UNITS.volume === "qt")
    said = said.replace(VOLUMES, (_, litres, space) => `${(valueOf(litres) / 0.946352946).toFixed(1)}${space}US quarts`);
  return said;
}

function showUnits(root) {
  const walker = document.createTreeWalker(root, NodeFilter.SHOW_TEXT);
  for (let node = walker.nextNode(); node; node = walker.nextNode()) {
    if (!texts.has(node)) texts.set(node, node.data);
    const said = inUnits(texts.get(node));
    if (said !== node.data) node.data = said;
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
  const said = new URLSearchParams();
  for (const [name, value] of new FormData(document.getElementById("question")))
    if (value.trim()) said.set(name, value.trim());
  if (said.get("facing") === "none") for (const part of ["body", "cones", "condition"]) said.delete(part);
  return `./${said.size ? "?" + said : ""}`;
}

let asking = null;
async function show(where, { form = false, focus = false } = {}) {
  asking?.abort();
  asking = new AbortController();
  const old = document.getElementById("answer");
  old.classList.add("stale");
  let page;
  try {
    const response = await fetch(where, { signal: asking.signal, headers: { Accept: "text/html" } });
    page = new DOMParser().parseFromString(await response.text(), "text/html");
    if (!page.getElementById("answer")) throw new Error("no answer");
  } catch (error) {
    if (error.name === "AbortError") return;
    window.location.assign(where);
    return;
  }
  for (const id of form ? ["question", "answer"] : ["answer"]) {
    const fresh = document.adoptNode(page.getElementById(id));
    if (id === "question") keepOpen(document.getElementById(id), fresh);
    showUnits(fresh);
    document.getElementById(id).replaceWith(fresh);
  }
  const words = page.getElementById("jump-words").textContent;
  document.getElementById("jump-words").textContent = words;
  document.getElementById("news").textContent = words;
  if (focus) (document.querySelector("#answer .ask .reply") || document.getElementById("answer")).focus({ preventScroll: true });
}

function keepOpen(from, to) {
  const fresh = to.querySelectorAll("details");
  from.querySelectorAll("details").forEach((one, place) => { if (one.open && fresh[place]) fresh[place].open = true; });
}

let lastWritten = null;
function asked(target) {
  const where = address();
  if (new URL(where, location).href === location.href) return;
  const writesOn = target.matches("input[list], input:not([type])") && lastWritten === target.name;
  history[writesOn ? "replaceState" : "pushState"](null, "", where);
  lastWritten = target.name;
  show(where);
}

function startCounter() {
  document.body.classList.add("live");
  let waiting;
  document.addEventListener("input", (event) => {
    if (!event.target.closest("#question")) return;
    clearTimeout(waiting);
    if (event.target.matches("[type=radio], [type=checkbox], select")) asked(event.target);
    else waiting = setTimeout(asked, 350, event.target);
  });
  document.addEventListener("submit", (event) => { event.preventDefault(); clearTimeout(waiting); asked(event.target); });
  document.addEventListener("click", (event) => {
    const link = event.target.closest("a.reply, a[data-key=clear]");
    if (!link || event.ctrlKey || event.metaKey || event.shiftKey || event.button) return;
    event.preventDefault();
    follow(link);
  });
  window.addEventListener("popstate", () => show(location.href, { form: true }));
}

async function follow(link) {
  lastWritten = null;
  history.pushState(null, "", link.getAttribute("href"));
  const isReply = link.matches(".reply");
  await show(location.href, { form: true, focus: isReply });
  const field = isReply && document.querySelector(`[data-field="${link.dataset.field}"]`);
  if (field) field.classList.add("touched");
  if (!isReply) document.querySelector("#question input[name=facing]").focus();
}

function startKeys() {
  document.addEventListener("keydown", (event) => {
    const wanted = { F2: "clear", F9: "print" }[event.key];
    const target = wanted && document.querySelector(`[data-key="${wanted}"]`);
    if (!target || event.ctrlKey || event.altKey || event.metaKey || event.shiftKey) return;
    event.preventDefault();
    if (wanted === "clear") follow(target);
    else target.click();
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
