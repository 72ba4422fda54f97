"use strict";
// The page as it was typed: every letter where the carriage put it, the flagged
// ones marked where the paper shows them.
(() => {
  const { words, draw, choose: choosing } = loosedog;
  const { svg, round } = draw;

  // placed works out where each letter of a line stands, in spaces from the left
  // margin: a crowded one short of its place, a piled one on the one before.
  const placed = (page, strokes, pairOf) => {
    const out = [];
    let last = null;
    for (const s of strokes) {
      const i = pairOf.get(s.index);
      const pair = i === undefined ? null : page.pairs[i];
      let x = s.position;
      if (last && pair && pair.spacing === "piled") x = last.x;
      else if (pair && pair.spacing === "crowded" && words.known(pair.short_by)) x = s.position - pair.short_by;
      last = { s, i, pair, x };
      out.push(last);
    }
    return out;
  };

  const paper = (page, choose) => {
    const pairOf = new Map(page.pairs.map((p, i) => [p.second, i]));
    const strokesOf = draw.byLine(page.take.strokes, (s) => s.line);
    const lines = page.take.lines.map((l) => placed(page, strokesOf(l.line), pairOf));
    const widest = Math.max(20, ...lines.flatMap((letters) => letters.map((c) => c.x + 1)));
    const box = draw.make("div", { class: "paper" });
    choosing.reach(box, page, choose, "The page as it was typed, pair by pair");
    const spots = new Map();
    let here = null;
    let shift = () => {};
    const mark = (i) => {
      const spot = spots.get(i);
      if (!here || !spot) return;
      here.setAttribute("x", round(spot.left));
      here.setAttribute("y", round(spot.top));
      here.style.display = "";
      shift(spot);
    };
    draw.fitted(box, (width) => {
      // Narrow screens scroll: letters keep a size that can be read.
      const pitch = Math.min(17, Math.max(11, (width - 44) / widest));
      const rise = pitch * 2.5;
      const left = 22;
      const across = Math.max(width - 2, widest * pitch + 2 * left);
      const root = draw.canvas(across, lines.length * rise + 30);
      here = svg("rect", { class: "here", width: round(2.3 * pitch), height: round(pitch * 2.3), rx: 3 });
      here.style.display = "none";
      root.append(here);
      spots.clear();
      lines.forEach((letters, row) => {
        const base = 34 + row * rise;
        for (const c of letters) {
          const x = left + c.x * pitch;
          if (c.i !== undefined) spots.set(c.i, { i: c.i, left: x - 1.15 * pitch, top: base - pitch * 1.35, x });
          const bad = c.pair && words.flagged(c.pair);
          if (c.s.kind !== "space") {
            const look = bad ? "typed flagged" : "typed";
            if (c.s.char !== null && c.s.char !== " ") {
              root.append(svg("text", { x: round(x), y: round(base), "font-size": round(pitch * 1.62), class: look, text: c.s.char }));
            } else {
              root.append(svg("rect", {
                x: round(x - pitch * 0.3), y: round(base - pitch * 0.75), width: round(pitch * 0.6), height: round(pitch * 0.75),
                class: look + " unnamed",
              }));
            }
          }
          if (bad) root.append(draw.marks[draw.markOf(c.pair)](x, base + pitch * 0.62, pitch * 0.3));
          if (c.s.missed_space) root.append(svg("path", { d: "M" + round(x - pitch * 0.4) + " " + round(base + 3) + "h" + round(pitch * 0.8), class: "missed" }));
        }
      });
      choosing.pointing(root, choose, [...spots.values()], (s, px, py) => Math.hypot(px - s.x, (py - s.top - pitch) * 1.2));
      shift = (spot) => {
        if (across <= width || document.activeElement !== box) return;
        if (spot.x < box.scrollLeft + 40 || spot.x > box.scrollLeft + width - 40) box.scrollLeft = spot.x - width / 2;
      };
      box.replaceChildren(root);
      if (choose.now() >= 0) mark(choose.now());
    });
    choose.add(mark);
    return box;
  };

  // lettersKnown tells whether any letter of the take has a name.
  const lettersKnown = (page) => page.take.strokes.some((s) => s.char !== null && s.char !== " ");

  loosedog.paper = { paper, lettersKnown };
})();
