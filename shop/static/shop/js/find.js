// "/" jumps to the search box from anywhere on the page, unless something is being typed.
const box = document.querySelector("[data-find]");

function isTyping(target) {
  return target.isContentEditable || target.closest("input, textarea, select") !== null;
}

if (box) {
  document.addEventListener("keydown", (event) => {
    if (event.key !== "/" || event.ctrlKey || event.metaKey || event.altKey) return;
    if (isTyping(event.target)) return;
    event.preventDefault();
    box.focus();
    box.select();
  });
}
