/* The rows of an order's grid: finding and making them, and what a cell takes. */

export const form = document.getElementById("grid");
export const table = document.getElementById("grid-lines");
const body = table.tBodies[0];
const blank = document.getElementById("blank-row");
const words = JSON.parse(table.dataset.words);
const MOST_ROWS = Number(table.dataset.mostRows);

export const rows = () => Array.from(body.querySelectorAll("tr.cells"));
export const cells = (row) => Array.from(row.querySelectorAll("[data-column]"));
export const cellIn = (row, column) => row.querySelector(`[data-column="${column}"]`);
export const rowOf = (cell) => cell.closest("tr");
export const plain = (text) => text.normalize("NFKD").toLowerCase().replace(/[^\p{L}\p{N}]/gu, "");

// Tells the page once that something was typed, so that the figures follow.
export const typed = (cell) => cell.dispatchEvent(new Event("change", { bubbles: true }));

export function addRow() {
  const found = rows();
  if (found.length >= MOST_ROWS) return null;
  const index = Math.max(-1, ...found.map((row) => Number(row.dataset.row))) + 1;
  const last = found.length ? Number(found[found.length - 1].querySelector("th").textContent) : 0;
  const made = blank.content.cloneNode(true);
  made.querySelectorAll("*").forEach((each) => {
    for (const { name, value } of Array.from(each.attributes)) {
      const named = value.replace(/^(r|id_r|said-)__/, `$1${index}`).replace(/^__$/, index).replace(/line 0$/, `line ${last + 1}`);
      if (named !== value) each.setAttribute(name, named);
    }
  });
  made.querySelector("[data-number]").textContent = last + 1;
  const row = made.querySelector("tr.cells");
  body.append(made);
  ready(row);
  return row;
}

// The row after or before, made where there is none.
export function beside(row, step) {
  const found = rows();
  return found[found.indexOf(row) + step] || (step > 0 ? addRow() : null);
}

// Fabrics that are slit to the row's vane width; where the same cloth comes in the other width, it is taken over.
const everyFabric = new WeakMap();

function offerFabrics(row) {
  const select = cellIn(row, "fabric");
  const every = everyFabric.get(select);
  const width = cellIn(row, "vane_width_mm").value;
  const chosen = select.selectedOptions[0];
  const fits = (option) => !option.dataset.vaneWidth || !width || option.dataset.vaneWidth === width;
  select.replaceChildren(...every.filter(fits));
  const same = fits(chosen) ? chosen : every.find((option) => fits(option) && option.dataset.cloth === chosen.dataset.cloth);
  select.value = same ? same.value : "";
}

// A wand blind has no loop.
export function settle(row) {
  const wand = cellIn(row, "operation").value === "wand";
  ["loop_control", "chain"].forEach((name) => (cellIn(row, name).disabled = wand));
  offerFabrics(row);
  row.classList.toggle("gone", row.querySelector("[name$='-gone']").checked);
}

export function ready(row) {
  const fabric = cellIn(row, "fabric");
  everyFabric.set(fabric, Array.from(fabric.options));
  row.querySelector("[data-as-above]").hidden = false;
  settle(row);
}

// Puts `text` into a cell as it would be said: a choice by any word for it, what is no choice as it stands.
export function put(cell, text) {
  const said = text.trim();
  if (!said || cell.disabled) return;
  if (cell.matches("input")) {
    cell.value = said;
    return;
  }
  const value = cell.dataset.column in words ? words[cell.dataset.column][plain(said)] : optionSaying(cell, said);
  if (value !== undefined && Array.from(cell.options).some((option) => option.value === String(value))) {
    cell.value = value;
    return;
  }
  const option = new Option(`“${said.slice(0, 40)}”`, said, false, true);
  if (everyFabric.has(cell)) everyFabric.get(cell).push(option);
  cell.add(option);
}

function optionSaying(cell, said) {
  const wanted = plain(said);
  const says = (option) =>
    option.value === said || [option.text, option.dataset.cloth || "", option.dataset.code || ""].map(plain).includes(wanted);
  const width = cell.dataset.column === "fabric" ? cellIn(rowOf(cell), "vane_width_mm").value : "";
  const found = Array.from(everyFabric.get(cell) || cell.options).filter((option) => option.value && says(option));
  const fitting = found.find((option) => option.dataset.vaneWidth === width) || (found.length === 1 ? found[0] : null);
  return fitting ? fitting.value : undefined;
}
