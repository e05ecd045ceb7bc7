// The form works by itself; here the page changes at once, without being loaded anew.
const form = document.querySelector("[data-theme-form]");

form?.addEventListener("submit", (event) => {
  const chosen = event.submitter?.value;
  if (!chosen) return;
  event.preventDefault();
  const root = document.documentElement;
  if (chosen === "system") delete root.dataset.theme;
  else root.dataset.theme = chosen;
  for (const button of form.querySelectorAll("button[name=theme]")) {
    button.setAttribute("aria-pressed", String(button.value === chosen));
  }
  fetch(form.action, {
    method: "POST",
    body: new FormData(form, event.submitter),
    redirect: "manual",
  });
});
