// Planning a split: the hours that are there in all.

const form = document.getElementById("plan");
const total = document.getElementById("hours-in-all");

function add() {
  const hours = [...form.querySelectorAll("input[name^='hours:']")].map(({ value }) => Number(value) || 0);
  const sum = hours.reduce((one, other) => one + other, 0);
  total.textContent = String(Math.round(100 * sum) / 100); // 0.1 and 0.2 are 0.3 to people
}

// What was begun can only be dealt out with the rest of what is held.
form.elements.begun?.addEventListener("change", ({ target }) => (form.elements.again.checked ||= target.checked));
form.elements.again?.addEventListener("change", ({ target }) => (form.elements.begun.checked &&= target.checked));
form.addEventListener("input", add);
add();
