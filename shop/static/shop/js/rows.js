// Rows of a formset: the server sends a few empty ones, this adds more without asking it.
const total = (set) => set.querySelector("input[name$='-TOTAL_FORMS']");

function isFull(set) {
  const most = set.querySelector("input[name$='-MAX_NUM_FORMS']").value;
  return most !== "" && Number(total(set).value) >= Number(most);
}

function addRow(set) {
  if (isFull(set)) return;
  const number = Number(total(set).value);
  const pattern = set.querySelector("template[data-row]");
  const row = pattern.content.cloneNode(true);
  for (const element of row.querySelectorAll("*")) {
    for (const { name, value } of [...element.attributes]) {
      if (value.includes("__prefix__")) {
        element.setAttribute(name, value.replaceAll("__prefix__", number));
      }
    }
  }
  const counter = row.querySelector("[data-row-number]");
  if (counter) counter.textContent = number + 1;
  const first = row.querySelector("input:not([type=hidden]), select, textarea");
  pattern.before(row);
  total(set).value = number + 1;
  first?.focus();
  if (isFull(set)) set.querySelector("[data-add-row]").hidden = true;
}

function wake(root) {
  for (const button of root.querySelectorAll("[data-add-row][hidden]")) {
    button.hidden = isFull(button.closest("[data-formset]"));
  }
}

document.addEventListener("click", (event) => {
  const button = event.target.closest("[data-add-row]");
  if (button) addRow(button.closest("[data-formset]"));
});
document.addEventListener("htmx:load", (event) => wake(event.target));
wake(document);
