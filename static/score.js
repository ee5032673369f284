// The keypad, the stepper and the clock of the scoring page. The page works without them.

const readings = [...document.querySelectorAll("[data-reading]")];
const keypad = document.querySelector("[data-keypad]");

if (keypad && readings.length) startKeypad();
startStepper();
startClocks();

function startKeypad() {
  let field = readings.find((input) => input.getAttribute("aria-invalid") || !input.value) ?? readings[0];
  keypad.hidden = false;
  for (const input of readings) {
    // The device's own keyboard would cover the keys; "Letters" brings it back.
    input.inputMode = "none";
    input.addEventListener("focus", () => { field = input; });
    input.addEventListener("keydown", (event) => {
      if (event.key !== "Enter") return;
      const next = readings[readings.indexOf(input) + 1];
      if (!next) return; // Enter in the last reading sends the form
      event.preventDefault();
      next.focus();
    });
  }
  const write = (text, from = field.selectionStart, to = field.selectionEnd) => {
    field.setRangeText(text, from, to, "end");
    field.focus({ preventScroll: true });
  };
  keypad.addEventListener("click", (event) => {
    const key = event.target.closest("button");
    if (!key) return;
    const { insert, part } = key.dataset;
    if (insert !== undefined) write(insert);
    else if (part !== undefined) {
      const before = field.value.slice(0, field.selectionStart);
      write(/\d$/.test(before) ? ` ${part}` : part);
    } else if ("erase" in key.dataset) {
      const { selectionStart: start, selectionEnd: end } = field;
      write("", start === end ? Math.max(0, start - 1) : start, end);
    } else if ("next" in key.dataset) {
      readings[(readings.indexOf(field) + 1) % readings.length].focus({ preventScroll: true });
    } else if ("keyboard" in key.dataset) {
      for (const input of readings) input.inputMode = "text";
      field.blur();
      field.focus();
    }
  });
  field.focus({ preventScroll: true });
}

function startStepper() {
  const count = document.querySelector("[data-count]");
  for (const key of document.querySelectorAll("[data-step]")) {
    key.hidden = false;
    key.addEventListener("click", () => {
      count.value = Math.max(0, (Number.parseInt(count.value, 10) || 0) + Number(key.dataset.step));
    });
  }
}

function startClocks() {
  for (const key of document.querySelectorAll("[data-now]")) {
    key.hidden = false;
    key.addEventListener("click", () => {
      const zone = key.dataset.zone || undefined;
      // Swedish writes a date as ISO 8601 does: 2025-03-04 14:05:09.
      const now = new Date().toLocaleString("sv-SE", { timeZone: zone });
      document.getElementById(key.dataset.now).value = now.replace(" ", "T");
    });
  }
}
