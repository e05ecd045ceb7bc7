// Two guards for forms that write: a typed change is not lost by leaving the page, and one press
// of the button sends once. `data-no-guard` on a form switches both off.
const sent = new WeakSet();
const changed = new Set();

const guarded = (form) =>
  form instanceof HTMLFormElement && form.method === "post" && !("noGuard" in form.dataset);

document.addEventListener("input", (event) => {
  const form = event.target.form;
  if (guarded(form)) changed.add(form);
});

document.addEventListener("submit", (event) => {
  const form = event.target;
  if (event.defaultPrevented || !guarded(form)) return;
  if (sent.has(form)) {
    event.preventDefault();
    return;
  }
  sent.add(form);
  changed.delete(form);
});

// A form that came back from the browser's memory of the last page may be sent again.
window.addEventListener("pageshow", (event) => {
  if (!event.persisted) return;
  for (const form of document.forms) sent.delete(form);
});

window.addEventListener("beforeunload", (event) => {
  for (const form of changed) {
    if (form.isConnected && !sent.has(form)) {
      event.preventDefault();
      return;
    }
  }
});
