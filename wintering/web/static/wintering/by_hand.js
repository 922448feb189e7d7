// Plus and minus for a gloved thumb: one press is one step, and nothing has to be typed.
// Keys for numbers come only along with them, because not all of those have a minus.
const MINUS = "\u2212";

const read = (text) => Number(text.trim().replace(MINUS, "-").replace(",", "."));
const written = (value) => String(Number(value.toFixed(1))).replace("-", MINUS);

const pressed = (input, button) => {
  const now = input.value.trim() ? read(input.value) : Number(input.dataset.from);
  if (Number.isNaN(now)) return;
  input.value = written(button.dataset.step ? now + Number(button.dataset.step) : -now);
  input.dispatchEvent(new Event("input", { bubbles: true }));
};

for (const row of document.querySelectorAll("[data-steps]")) {
  const input = row.querySelector("input");
  input.inputMode = "decimal";
  for (const button of row.querySelectorAll("button")) {
    button.hidden = false;
    button.addEventListener("click", () => pressed(input, button));
  }
}

// A time that is typed says by itself that it was earlier.
const at = document.querySelector("[data-earlier] input");
at?.addEventListener("input", () => {
  const earlier = document.querySelector("input[name='when'][value='earlier']");
  if (earlier && at.value) earlier.checked = true;
});
