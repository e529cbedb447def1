// The button that prints the list.

document.getElementById("print").addEventListener("click", () => print());
