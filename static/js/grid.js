/* The grid of an order's lines: moving by keys, copying from above, pasting a block. Without it the rows are plain fields
   with a button that saves them: the server reads and checks the same. */

import { addRow, beside, cellIn, cells, form, plain, put, ready, rowOf, rows, settle, table, typed } from "./grid_rows.js";

// What a row says of its own: copied from above only by the cell that asks for it.
const OWN = ["room", "width_mm", "drop_mm"];
// The column where Tab began its way along a row: Enter goes back to it.
let began = null;

function go(cell) {
  if (!cell) return false;
  cell.focus();
  if (cell.matches("input")) cell.select();
  cell.scrollIntoView({ block: "nearest", inline: "nearest" });
  return true;
}

const goToRow = (cell, step, column) => {
  const row = beside(rowOf(cell), step);
  return Boolean(row) && go(cellIn(row, column));
};

function goAlong(cell, step) {
  const usable = cells(rowOf(cell)).filter((each) => !each.disabled);
  return go(usable[usable.indexOf(cell) + step]);
}

function copyValue(from, to) {
  if (to.disabled) return;
  if (to.matches("input")) to.value = from.value;
  else put(to, from.value && from.selectedOptions[0].dataset.cloth ? from.selectedOptions[0].dataset.cloth : from.value);
}

function cellAsAbove(cell) {
  const above = beside(rowOf(cell), -1);
  if (!above) return;
  copyValue(cellIn(above, cell.dataset.column), cell);
  settle(rowOf(cell));
  typed(cell);
}

function rowAsAbove(row) {
  const above = beside(row, -1);
  if (!above) return;
  for (const name of cells(row).map((cell) => cell.dataset.column).filter((name) => !OWN.includes(name))) {
    copyValue(cellIn(above, name), cellIn(row, name));
    // Vane width and operation decide what the cells after them may be.
    settle(row);
  }
  typed(cellIn(row, "quantity"));
}

function paste(event) {
  const cell = event.target.closest("[data-column]");
  const text = event.clipboardData ? event.clipboardData.getData("text/plain").replace(/\r\n?/g, "\n").replace(/\n$/, "") : "";
  if (!cell || !(text.includes("\t") || text.includes("\n") || cell.matches("select"))) return;
  event.preventDefault();
  let row = rowOf(cell);
  const first = cells(row).indexOf(cell);
  const lines = text.split("\n");
  // The heads of a table's columns are no blind.
  if (plain(lines[0].split("\t")[0]) === plain(table.querySelector(`th.of-${cell.dataset.column}`).firstChild.textContent)) lines.shift();
  for (const [number, line] of lines.entries()) {
    if (number) row = beside(row, 1);
    if (!row) {
      document.getElementById("grid-full").hidden = false;
      break;
    }
    const places = cells(row).slice(first);
    line.split("\t").forEach((value, place) => {
      if (!places[place]) return;
      put(places[place], value);
      settle(row);
    });
  }
  typed(cell);
  go(cell);
}

const edge = (cell, step) =>
  cell.matches("select") ||
  (cell.selectionStart === 0 && cell.selectionEnd === cell.value.length) ||
  (cell.selectionStart === cell.selectionEnd && cell.selectionStart === (step < 0 ? 0 : cell.value.length));

function keyed(event) {
  const cell = event.target.closest("[data-column]");
  if (!cell || event.isComposing) return;
  const { key, ctrlKey, shiftKey, altKey, metaKey } = event;
  const bare = !ctrlKey && !altKey && !metaKey;
  const column = cell.dataset.column;
  let done = true;
  if (key === "Enter" && ctrlKey) form.requestSubmit(form.querySelector("button.main"));
  else if (key === "Enter" && bare) done = goToRow(cell, shiftKey ? -1 : 1, began || column) || true;
  else if (key === "ArrowDown" && bare && !shiftKey) done = suggests(cell) ? false : goToRow(cell, 1, column) || true;
  else if (key === "ArrowUp" && bare && !shiftKey) done = suggests(cell) ? false : goToRow(cell, -1, column) || true;
  else if (key === "ArrowLeft" && bare && !shiftKey) done = edge(cell, -1) && goAlong(cell, -1);
  else if (key === "ArrowRight" && bare && !shiftKey) done = edge(cell, 1) && goAlong(cell, 1);
  else if (key.toLowerCase() === "d" && ctrlKey && !altKey) shiftKey ? rowAsAbove(rowOf(cell)) : cellAsAbove(cell);
  else if (key === '"' && bare && (cell.matches("select") || !unselected(cell))) cellAsAbove(cell);
  else done = false;
  if (done) event.preventDefault();
}

// Text that typing would keep: an inch's sign belongs to it.
const unselected = (cell) => cell.value && cell.selectionStart === cell.selectionEnd;

// While a room is being typed its suggestions have the arrows.
const suggests = (cell) => Boolean(cell.list) && cell.value !== "" && cell.value !== cell.dataset.was;

function entered(event) {
  const cell = event.target.closest("[data-column]");
  if (!cell) return;
  cell.dataset.was = cell.value;
  if (cell.matches("input")) cell.select();
}

// Where the way along a row begins: at whatever cell is reached otherwise than by Tab.
let byTab = false;
function beginAt(event) {
  const cell = event.target.closest("[data-column]");
  if (cell && !(byTab && began)) began = cell.dataset.column;
  byTab = false;
}

rows().forEach(ready);
document.getElementById("keys").hidden = false;
table.addEventListener("keydown", keyed);
document.addEventListener("keydown", (event) => (byTab = event.key === "Tab"), true);
table.addEventListener("pointerdown", () => (byTab = false));
table.addEventListener("focusin", beginAt);
table.addEventListener("focusin", entered);
table.addEventListener("paste", paste);
// A room that is typed is suggested in the rows after it.
table.addEventListener("change", ({ target }) => {
  const known = target.list && target.value && Array.from(target.list.options, (option) => option.value);
  if (known && !known.includes(target.value)) target.list.prepend(new Option("", target.value));
});
// Before htmx hears of it, so that it sends what the row now says.
table.addEventListener("change", ({ target }) => target.closest("tr.cells") && settle(rowOf(target)), true);
table.addEventListener("click", (event) => {
  const button = event.target.closest("[data-as-above]");
  if (button) rowAsAbove(rowOf(button));
});
form.querySelector("[name='more']").addEventListener("click", (event) => {
  event.preventDefault();
  go(cellIn(addRow() || rows().at(-1), "room"));
});
document.body.addEventListener("htmx:afterSettle", (event) => {
  if (event.detail.target.id !== "grid-said") return;
  const said = document.getElementById("grid-totals").textContent;
  const heard = document.getElementById("grid-heard");
  if (heard.textContent !== said) heard.textContent = said;
  // What rows say has grown above: the cell that is typed in stays in sight.
  const cell = document.activeElement.closest("#grid-lines [data-column]");
  if (cell) cell.scrollIntoView({ block: "nearest" });
});
if (!document.getElementById("problems")) {
  const empty = rows().find((row) => !("stored" in row.dataset) && !cellIn(row, "width_mm").value);
  go(cellIn(empty || rows()[0], "room"));
}
