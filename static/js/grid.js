// The grid of an order's lines: moving by keys, copying from above, pasting a block, and new rows. Without it the rows
// are plain fields with a button that saves them: the server reads and checks the same.
(function () {
  "use strict";

  const form = document.getElementById("grid");
  if (!form) return;
  const table = document.getElementById("grid-lines");
  const body = table.tBodies[0];
  const blank = document.getElementById("blank-row");
  const words = JSON.parse(table.dataset.words);
  // What a row says of its own: copied from above only by the cell that asks for it.
  const OWN = ["room", "width_mm", "drop_mm"];
  const MOST_ROWS = Number(table.dataset.mostRows);
  // The column where Tab began its way along a row: Enter goes back to it.
  let began = null;

  const rows = () => Array.from(body.querySelectorAll("tr.cells"));
  const cells = (row) => Array.from(row.querySelectorAll("[data-column]"));
  const cellIn = (row, column) => row.querySelector(`[data-column="${column}"]`);
  const rowOf = (cell) => cell.closest("tr");
  const plain = (text) => text.normalize("NFKD").toLowerCase().replace(/[^\p{L}\p{N}]/gu, "");

  // Tells the page once that something was typed, so that the figures follow.
  const typed = (cell) => cell.dispatchEvent(new Event("change", { bubbles: true }));

  function addRow() {
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
  function beside(row, step) {
    const found = rows();
    return found[found.indexOf(row) + step] || (step > 0 ? addRow() : null);
  }

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
  function settle(row) {
    const wand = cellIn(row, "operation").value === "wand";
    ["loop_control", "chain"].forEach((name) => (cellIn(row, name).disabled = wand));
    offerFabrics(row);
    row.classList.toggle("gone", row.querySelector("[name$='-gone']").checked);
  }

  function ready(row) {
    const fabric = cellIn(row, "fabric");
    everyFabric.set(fabric, Array.from(fabric.options));
    row.querySelector("[data-as-above]").hidden = false;
    settle(row);
  }

  // Puts `text` into a cell as it would be said: a choice by any word for it, what is no choice as it stands.
  function put(cell, text) {
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
    for (const [number, line] of text.split("\n").entries()) {
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
  // Before htmx hears of it, so that it sends what the row now says.
  table.addEventListener("change", ({ target }) => {
    const known = target.list && target.value && Array.from(target.list.options, (option) => option.value);
    if (known && !known.includes(target.value)) target.list.prepend(new Option("", target.value));
  });
  table.addEventListener("change", (event) => settle(rowOf(event.target).matches(".cells") ? rowOf(event.target) : rowOf(event.target).previousElementSibling), true);
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
})();
