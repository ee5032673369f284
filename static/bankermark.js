// What a page gains from scripting; every page works without it.

// After a refused form, put the reader at the list of what to mend.
document.querySelector("[data-focus]")?.focus();

// A form that is being sent is not sent twice by a second tap.
for (const form of document.querySelectorAll("form[method=post]")) {
  form.addEventListener("submit", (event) => {
    if (form.dataset.sent) event.preventDefault();
    form.dataset.sent = "yes";
  });
}
// Coming back with the browser's Back button shows the page as it was left: let it send again.
window.addEventListener("pageshow", () => {
  for (const form of document.querySelectorAll("form[data-sent]")) delete form.dataset.sent;
});

for (const button of document.querySelectorAll("[data-print]")) {
  button.hidden = false;
  button.addEventListener("click", () => window.print());
}

// What is copied is the value of the field that the button names; the field can be read by hand.
for (const button of document.querySelectorAll("[data-copy]")) {
  const field = document.getElementById(button.dataset.copy);
  const told = document.querySelector(`[data-copied="${button.dataset.copy}"]`);
  button.hidden = false;
  button.addEventListener("click", async () => {
    field.select();
    try {
      await navigator.clipboard.writeText(field.value);
      told.textContent = told.dataset.done;
    } catch {
      told.textContent = told.dataset.byHand;
    }
  });
}
