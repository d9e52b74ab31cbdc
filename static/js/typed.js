/* What is typed and not yet entered on a blind's sheet outlives a reload. */

const NAME = "railwright-typed:";

const here = () => NAME + location.pathname;
const fields = () => document.querySelectorAll("#bench :is(input:not([type=hidden]), textarea, select)[id]");

export const isTicked = (field) => ["radio", "checkbox"].includes(field.type);

/* What differs from what the server, or this tablet, has of it. */
export function isEdited(field) {
  if (isTicked(field)) return field.checked && !field.defaultChecked;
  if (field.matches("select")) return Boolean(field.value) && !field.selectedOptions[0].defaultSelected;
  return field.value !== field.defaultValue;
}

export const editedFields = () => [...fields()].filter(isEdited);

function read() {
  try {
    return JSON.parse(localStorage.getItem(here())) ?? {};
  } catch {
    return {};
  }
}

export function saveTyped() {
  const typed = read();
  for (const field of fields()) {
    if (isEdited(field)) typed[field.id] = field.value;
    else delete typed[field.id];
  }
  if (Object.keys(typed).length) localStorage.setItem(here(), JSON.stringify(typed));
  else localStorage.removeItem(here());
}

export function restoreTyped() {
  for (const [id, value] of Object.entries(read())) {
    const field = document.getElementById(id);
    if (!field || isEdited(field)) continue;
    if (isTicked(field)) field.checked = true;
    else field.value = value;
    field.closest("details")?.setAttribute("open", "");
  }
}

export function forgetTyped() {
  for (const name of Object.keys(localStorage)) if (name.startsWith(NAME)) localStorage.removeItem(name);
}

document.addEventListener("input", ({ target }) => target.closest?.("#bench") && saveTyped());
document.addEventListener("htmx:afterSettle", saveTyped);
restoreTyped();
