// Says in one line whether the server has the marks, and in words why not.

const GO_ON = "Go on working: your marks are kept in this browser and sent as soon as possible.";
const WEAKER = {
  "local storage": "",
  memory:
    "This browser keeps nothing (a private window, or a full disk): marks are in this page only until they are sent. " +
    "Leave it open until all is saved.",
};

/** Keep `line` true. `say(words, link)` shows trouble, or none; the link {href, words} is what to do about it. */
export function showSending(outbox, store, line, say) {
  const show = () => {
    const { refused, waiting, sending } = outbox;
    line.className = `saved ${refused ? "bad" : waiting ? "waiting" : ""}`;
    if (refused) line.textContent = `${refused} not saved: see the list`;
    else if (!waiting) line.textContent = "all saved";
    else line.textContent = sending ? `${waiting} on the way` : `${waiting} kept here, not sent yet`;
  };
  const weaker = () => WEAKER[store.kind] && say(WEAKER[store.kind]);
  outbox.addEventListener("change", show);
  outbox.addEventListener("sent", () => say(outbox.waiting ? (WEAKER[store.kind] ?? "") : ""));
  outbox.addEventListener("away", ({ detail: problem }) => {
    if (problem.status !== 401) say(`${problem.message} ${WEAKER[store.kind] || GO_ON}`);
    else say(`${problem.message} ${GO_ON}`, { href: "/sign-in/", words: "Sign in again in another tab." });
  });
  store.addEventListener("weaker", weaker);
  // A mark that only this page has is worth a question before it is closed.
  addEventListener("beforeunload", (event) => store.kind === "memory" && outbox.waiting && event.preventDefault());
  weaker();
  show();
}
