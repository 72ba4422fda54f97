"use strict";
// The whole take as a strip, folded at every carriage return as the page is: a
// row for each line, time running to the right at one scale for all.
(() => {
  const { words, draw, choose: choosing } = loosedog;
  const { svg, round } = draw;

  const before = 0.25; // s shown before a line's first strike
  const after = 0.45; // and after its last
  const height = 74; // px of a row
  const gutter = 34; // px for the line's number

  // rowsOf lays the lines out in time.
  const rowsOf = (page) => {
    const strokesOf = draw.byLine(page.take.strokes.filter((s) => words.known(s.strike_s)), (s) => s.line);
    const pairsOf = draw.byLine(page.pairs.map((p, i) => ({ i, p })), ({ p }) => page.take.strokes[p.second].line);
    return page.take.lines
      .filter((l) => words.known(l.start_s) && words.known(l.end_s))
      .map((l) => {
        let to = l.end_s + after;
        if (words.known(l.bell_s) && l.bell_s < l.end_s + 2) to = Math.max(to, l.bell_s + 0.5);
        return { line: l, from: Math.max(0, l.start_s - before), to, strokes: strokesOf(l.line), pairs: pairsOf(l.line) };
      });
  };

  const rowDrawing = (page, peaks, row, width, scale) => {
    const root = draw.canvas(width, height);
    const x = (t) => gutter + (t - row.from) * scale;
    const middle = 44;
    const end = x(row.to);
    root.append(svg("text", { x: gutter - 12, y: middle + 6, class: "tick end", text: String(row.line.line + 1) }));
    if (peaks) root.append(svg("path", { d: outline(peaks, row, scale, middle), class: "sound" }));
    else root.append(svg("path", { d: "M" + gutter + " " + middle + "H" + round(end), class: "grid" }));
    let letters = "";
    let spaces = "";
    for (const s of row.strokes) {
      if (s.kind === "space") spaces += "M" + round(x(s.strike_s)) + " " + (middle + 14) + "v11";
      else letters += "M" + round(x(s.strike_s)) + " " + (middle - 25) + "v50";
    }
    // Where strokes stand close the lines are fine, so that none hides another.
    const look = scale < 60 ? "strike fine" : "strike";
    root.append(svg("path", { d: letters, class: look }), svg("path", { d: spaces, class: look }));
    for (const { p } of row.pairs) {
      if (!words.flagged(p)) continue;
      const at = x(page.take.strokes[p.second].strike_s);
      root.append(draw.marks[draw.markOf(p)](at, 11, 6));
    }
    if (words.known(row.line.bell_s) && row.line.bell_s < row.to) {
      const at = round(x(row.line.bell_s));
      root.append(
        svg("path", { d: "M" + at + " " + (middle - 25) + "v50", class: "bell" }),
        svg("text", { x: at + 5, y: middle - 14, class: "tick", text: "bell" }),
      );
    }
    const here = svg("rect", { class: "here", y: 1, height: height - 3, rx: 3 });
    here.style.display = "none";
    root.prepend(here);
    return { root, x, here };
  };

  // outline is the sound of a row as one closed path.
  const outline = (peaks, row, scale, middle) => {
    const first = Math.floor(row.from * peaks.perS);
    const last = Math.min(peaks.length, Math.ceil(row.to * peaks.perS));
    const each = Math.max(1, Math.floor(peaks.perS / scale)); // values to a pixel
    let top = "";
    const points = [];
    for (let i = first; i < last; i += each) {
      let most = 0;
      for (let k = i; k < Math.min(i + each, last); k++) most = Math.max(most, peaks.at(k));
      points.push([round(gutter + ((i + each / 2) / peaks.perS - row.from) * scale), most * 25]);
    }
    if (points.length === 0) return "";
    for (const [px, h] of points) top += (top ? "L" : "M") + px + " " + round(middle - h);
    for (const [px, h] of points.reverse()) top += "L" + px + " " + round(middle + h);
    return top + "z";
  };

  const strip = (page, peaks, choose) => {
    const box = draw.make("div", { class: "strip" });
    choosing.reach(box, page, choose, "The take, pair by pair");
    const rows = rowsOf(page);
    const longest = Math.max(1, ...rows.map((r) => r.to - r.from));
    let drawn = [];
    const mark = (i) => {
      for (const d of drawn) {
        const own = d.row.pairs.find((q) => q.i === i);
        d.here.style.display = own ? "" : "none";
        if (!own) continue;
        const a = d.x(page.take.strokes[own.p.first].strike_s);
        const b = d.x(page.take.strokes[own.p.second].strike_s);
        d.here.setAttribute("x", round(a - 4));
        d.here.setAttribute("width", round(b - a + 8));
      }
    };
    draw.fitted(box, (width) => {
      const scale = (width - gutter - 6) / longest;
      drawn = rows.map((row) => {
        const d = rowDrawing(page, peaks, row, width, scale);
        choosing.pointing(d.root, choose, row.pairs, ({ p }, px) => {
          const a = d.x(page.take.strokes[p.first].strike_s);
          const b = d.x(page.take.strokes[p.second].strike_s);
          // A flagged pair is wider to the pointer than it looks.
          return Math.abs(px - (a + b) / 2) - (words.flagged(p) ? 3 : 0);
        });
        return { ...d, row };
      });
      box.replaceChildren(...drawn.map((d) => d.root));
      if (choose.now() >= 0) mark(choose.now());
    });
    choose.add(mark);
    return box;
  };

  loosedog.strip = strip;
})();
