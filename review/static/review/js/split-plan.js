// Planning a split: the hours that are there in all.

const form = document.getElementById("plan");
const total = document.getElementById("hours-in-all");

function add() {
  const hours = [...form.querySelectorAll("input[name^='hours:']")].map(({ value }) => Number(value) || 0);
  total.textContent = String(hours.reduce((sum, each) => sum + each, 0));
}

form.addEventListener("input", add);
add();
