// A menu made of <details data-menu> closes with Escape and when the hand goes elsewhere.
function close(menu, giveFocusBack) {
  menu.open = false;
  if (giveFocusBack) menu.querySelector("summary").focus();
}

const opened = () => document.querySelectorAll("details[data-menu][open]");

document.addEventListener("keydown", (event) => {
  if (event.key !== "Escape") return;
  for (const menu of opened()) close(menu, menu.contains(document.activeElement));
});

for (const kind of ["pointerdown", "focusin"]) {
  document.addEventListener(kind, (event) => {
    for (const menu of opened()) if (!menu.contains(event.target)) close(menu, false);
  });
}
