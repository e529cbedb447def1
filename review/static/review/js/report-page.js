// The report's one button.

document.getElementById("print").addEventListener("click", () => print());
