/* Gives a small number a button on either side, so that a thumb can set it.
   Without this file the field is typed in, with the phone's keys for figures. */

const round = (number, step) => Number(number.toFixed((step.split(".")[1] || "").length));

const move = (input, direction) => {
  const step = input.step && input.step !== "any" ? input.step : "1";
  const least = input.min === "" ? -Infinity : Number(input.min);
  const most = input.max === "" ? Infinity : Number(input.max);
  const next = round((Number(input.value) || 0) + direction * Number(step), step);
  input.value = Math.min(most, Math.max(least, next));
  input.dispatchEvent(new Event("input", { bubbles: true }));
  input.dispatchEvent(new Event("change", { bubbles: true }));
};

const button = (input, direction, sign, words) => {
  const made = document.createElement("button");
  made.type = "button";
  made.textContent = sign;
  made.setAttribute("aria-label", words);
  made.addEventListener("click", () => move(input, direction));
  return made;
};

for (const stepper of document.querySelectorAll(".stepper")) {
  const input = stepper.querySelector("input");
  input.before(button(input, -1, "−", stepper.dataset.less));
  input.after(button(input, 1, "+", stepper.dataset.more));
}
