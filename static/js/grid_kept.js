/* What is typed in the grid and not yet saved outlives a reload and a new sign-in, in this tab alone. */

import { addRow, cells, form, put, rows, settle, table, typed } from "./grid_rows.js";

const NAME = `railwright-grid:${location.pathname}`;
// Lines that were saved since, here or at another desk, make what was kept worthless.
const seen = form.elements.seen.value;

const saying = (row) => Object.fromEntries(cells(row).map((cell) => [cell.dataset.column, cell.value]));

function keep() {
  sessionStorage.setItem(NAME, JSON.stringify({ seen, rows: rows().map(saying) }));
}

function kept() {
  try {
    const found = JSON.parse(sessionStorage.getItem(NAME));
    return found && found.seen === seen ? found.rows : [];
  } catch {
    return [];
  }
}

// Puts a value back; true where the cell said something else.
function restored(cell, value) {
  if (value === undefined || cell.value === value) return false;
  if (cell.matches("select") && value && !Array.from(cell.options).some((option) => option.value === value)) put(cell, value);
  else cell.value = value;
  return true;
}

function restore() {
  let differs = false;
  kept().forEach((said, place) => {
    const row = rows()[place] || addRow();
    if (!row) return;
    for (const cell of cells(row)) {
      differs = restored(cell, said[cell.dataset.column]) || differs;
      settle(row);
    }
  });
  return differs;
}

// After a refusal the server sends back what was typed.
if (!document.getElementById("problems") && restore()) {
  document.getElementById("grid-kept").hidden = false;
  // Once htmx listens, so that the figures follow.
  document.addEventListener("DOMContentLoaded", () => typed(cells(rows()[0])[0]));
}
table.addEventListener("input", keep);
table.addEventListener("change", keep);
document.querySelectorAll("[data-forget]").forEach((each) =>
  each.addEventListener("click", () => {
    sessionStorage.removeItem(NAME);
    if (each.matches("button")) location.reload();
  }),
);
