// Four beats before the recording begins, seen and softly heard; at the item's tempo where it has one.
const USUAL = 80;
const BEATS = 4;

function click(context, first) {
  const tone = context.createOscillator();
  const level = context.createGain();
  tone.frequency.value = first ? 1500 : 1000;
  level.gain.setValueAtTime(0.1, context.currentTime);
  level.gain.exponentialRampToValueAtTime(0.0001, context.currentTime + 0.05);
  tone.connect(level).connect(context.destination);
  tone.start();
  tone.stop(context.currentTime + 0.06);
}

export async function countIn(context, tempo, show, isOver) {
  for (let beat = 1; beat <= BEATS && !isOver(); beat += 1) {
    show(beat);
    click(context, beat === 1);
    await new Promise((go) => { setTimeout(go, 60000 / (tempo || USUAL)); });
  }
  show(0);
}
