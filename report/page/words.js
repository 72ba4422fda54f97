"use strict";
// Numbers and places in words. Every script of the page puts what it offers
// into this one object.
const loosedog = {};
(() => {
  const cannotTell = "cannot tell";

  // ms writes a number of milliseconds; null is what was not heard.
  const ms = (x) => (x === null || x === undefined || !isFinite(x) ? cannotTell : fixed(x, 1) + " ms");

  // fixed writes x without a minus sign on a zero, and with a true one elsewhere.
  const fixed = (x, digits) => {
    const s = Math.abs(x).toFixed(digits);
    return x < 0 && Number(s) !== 0 ? "\u2212" + s : s;
  };

  const known = (x) => x !== null && x !== undefined && isFinite(x);

  // clock writes a time in the take.
  const clock = (s) => {
    if (!known(s)) return cannotTell;
    const m = Math.floor(s / 60);
    return m > 0 ? m + " min " + fixed(s - 60 * m, 1) + " s" : fixed(s, 1) + " s";
  };

  const count = (n, one, many) => n + " " + (n === 1 ? one : many || one + "s");

  const flagged = (pair) => pair.number > 0;

  // sentence makes one of a text that may have neither a capital nor a full stop.
  const sentence = (text) => (text ? text.charAt(0).toUpperCase() + text.slice(1) + (/[.!?]$/.test(text) ? "" : ".") : "");

  // letter names one stroke as far as the text is known.
  const letter = (stroke) => {
    if (stroke.kind === "space") return "space bar";
    return stroke.char === null || stroke.char === " " ? "letter" : "\u201c" + stroke.char + "\u201d";
  };

  const place = (stroke) => "line " + (stroke.line + 1) + ", position " + stroke.position;

  // shortBy says by how much of a space the second letter of a flagged pair
  // stands too close.
  const shortBy = (pair) => {
    if (pair.spacing === "piled" && !(pair.short_by < 0.995)) return "by a whole space";
    return known(pair.short_by) ? "by " + fixed(pair.short_by, 2) + " of a space" : "by how much cannot be told";
  };

  // judged says what became of a pair.
  const judged = (pair) => {
    if (flagged(pair)) return pair.word + ", too close " + shortBy(pair);
    if (pair.spacing === "clear") return "in time";
    return "whether in time cannot be told";
  };

  // name says which pair it is, for a heading.
  const name = (page, pair) => {
    const second = page.take.strokes[pair.second];
    return (flagged(pair) ? "Pair " + pair.number + ": " : "") + place(second);
  };

  // describe is the pair in one sentence, for those who hear the page read out.
  const describe = (page, pair) => {
    const a = page.take.strokes[pair.first];
    const b = page.take.strokes[pair.second];
    return name(page, pair) + ", " + letter(a) + " then " + letter(b) + ", " + judged(pair);
  };

  // fraction writes a speed as it stands on its key.
  const fraction = { 1: "1", 0.5: "\u00bd", 0.25: "\u00bc", 0.125: "\u215b" };
  const speed = { 1: "full speed", 0.5: "half speed", 0.25: "a quarter of the speed", 0.125: "an eighth of the speed" };

  loosedog.words = { cannotTell, ms, fixed, known, clock, count, flagged, sentence, letter, judged, name, describe, fraction, speed };
})();
