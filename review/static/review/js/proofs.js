// Pictures of the frames that were taken as in and out with the hand on the sheet, where no frame was on the screen.

const PATIENCE = 2000; // ms

/** Go to each of `wanted` ([name, frame]) in turn, and draw it on `proof(name)`; given up when the person goes elsewhere. */
export async function showProofs(player, wanted, proof) {
  for (const [name, frame] of wanted) {
    player.seek(frame);
    await settled(player);
    if (player.frame !== frame) return;
    player.take(proof(name));
  }
}

function settled(player) {
  return new Promise((done) => {
    player.addEventListener("settled", done, { once: true });
    setTimeout(done, PATIENCE);
  });
}
