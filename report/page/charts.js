"use strict";
// Two charts: interval against ready time, and travel against position.
(() => {
  const { words, draw, choose: choosing } = loosedog;
  const { svg, round } = draw;

  // chart is a drawing of points, each of which stands for a pair.
  const chart = (page, choose, label, height, plan) => {
    const box = draw.make("div", { class: "chart" });
    choosing.reach(box, page, choose, label);
    let spots = [];
    let here = null;
    const mark = (i) => {
      const spot = spots.find((s) => s.i === i);
      here.style.display = spot ? "" : "none";
      if (!spot) return;
      here.setAttribute("cx", round(spot.x));
      here.setAttribute("cy", round(spot.y));
    };
    draw.fitted(box, (width) => {
      const root = draw.canvas(width, height);
      const area = { left: 58, right: width - 14, top: 40, bottom: height - 62 };
      spots = plan(root, area);
      here = svg("circle", { class: "here-ring", r: 13 });
      here.style.display = "none";
      root.append(here);
      choosing.pointing(root, choose, spots, (s, px, py) => Math.hypot(px - s.x, py - s.y));
      box.replaceChildren(root);
      if (choose.now() >= 0) mark(choose.now());
    });
    choose.add((i) => here && mark(i));
    return box;
  };

  const within = (v, from, to) => Math.min(Math.max(v, from), to);

  // ready draws every pair: how long the machine needed against how long the
  // hand gave it.
  const ready = (page, choose) => {
    if (!page.ranges) return null;
    const r = page.ranges;
    return chart(page, choose, "Interval against ready time, pair by pair", 430, (root, area) => {
      const { fx, fy } = draw.axes(root, area,
        { from: r.ready_min - r.gutter, to: r.ready_max, least: r.ready_min + 0.04 * (r.ready_max - r.ready_min) * (r.gutter > 0 ? 1 : -1), name: "ready time after the first strike, ms" },
        { from: 0, to: r.interval_max, name: "interval to the next strike, ms" });
      const a = Math.max(r.ready_min, 0);
      const b = Math.min(r.ready_max, r.interval_max);
      root.append(
        svg("path", { class: "early", d: "M" + fx(a) + " " + fy(a) + "L" + fx(b) + " " + fy(b) + "L" + fx(r.ready_max) + " " + fy(b) + "V" + fy(0) + "H" + fx(a) + "z" }),
        svg("path", { class: "even", d: "M" + fx(a) + " " + fy(a) + "L" + fx(b) + " " + fy(b) }),
        svg("text", { x: area.right - 10, y: area.bottom - 12, class: "axis end on-early", text: "struck too early" }),
        svg("text", { x: round(fx(r.ready_min)) + 12, y: area.top + 18, class: "axis", text: "in time" }),
      );
      if (r.gutter > 0) {
        const px = round(fx(r.ready_min));
        root.append(
          svg("path", { class: "grid", d: "M" + px + " " + area.top + "V" + area.bottom }),
          svg("text", { x: round(fx(r.ready_min - r.gutter / 2)), y: area.bottom + 24, class: "tick middle", text: "none" }),
        );
      }
      // Pairs without a landing stand in the column, side by side in turn.
      let turn = 0;
      const none = () => r.ready_min - r.gutter * (0.2 + 0.6 * ((turn++ * 0.382) % 1));
      const spots = [];
      const calm = [];
      const bad = [];
      page.pairs.forEach((p, i) => {
        if (!words.known(p.interval_ms)) return;
        if (!words.flagged(p) && p.interval_ms > r.interval_max) return;
        const x = fx(words.known(p.ready_ms) ? within(p.ready_ms, r.ready_min, r.ready_max) : none());
        const y = fy(within(p.interval_ms, 0, r.interval_max));
        spots.push({ i, x, y });
        (words.flagged(p) ? bad : calm).push(draw.marks[draw.markOf(p)](x, y, words.flagged(p) ? 6 : 4.5));
      });
      root.append(...calm, ...bad);
      return spots;
    });
  };

  // travel draws the carriage's travel along the line; where none was heard, the
  // ready time.
  const travel = (page, choose) => {
    const strokes = page.take.strokes;
    const has = page.pairs.some((p) => words.known(strokes[p.first].travel_ms));
    const of = (s) => (has ? s.travel_ms : s.ready_ms);
    const points = [];
    page.pairs.forEach((p, i) => {
      const s = strokes[p.first];
      if (words.known(of(s))) points.push({ i, x: s.position, y: of(s), pair: p });
    });
    if (points.length < 2) return null;
    const ys = points.map((p) => p.y).sort((a, b) => a - b);
    const at = (q) => ys[Math.min(ys.length - 1, Math.floor(q * ys.length))];
    let [from, to] = [at(0.01), at(0.99)];
    for (const [, y] of page.travel.line) [from, to] = [Math.min(from, y), Math.max(to, y)];
    const middle = (from + to) / 2;
    const half = Math.max((to - from) * 0.62, middle * 0.125);
    [from, to] = [Math.max(0, middle - half), middle + half];
    const last = Math.max(11, ...points.map((p) => p.x), ...page.travel.line.map(([x]) => x));
    const name = has ? "travel, ms" : "ready time, ms (no travel could be heard)";
    return chart(page, choose, "Travel against carriage position, pair by pair", 430, (root, area) => {
      const { fx, fy } = draw.axes(root, area, { from: -0.5, to: last + 0.5, name: "carriage position, spaces" }, { from, to, name });
      const spots = points.map((p) => ({ i: p.i, x: fx(p.x), y: fy(within(p.y, from, to)) }));
      root.append(...spots.map((s) => draw.marks.ring(s.x, s.y, 4.5)));
      if (has && page.travel.line.length > 1) {
        const d = page.travel.line.map(([x, y], k) => (k ? "L" : "M") + round(fx(x)) + " " + round(fy(y))).join("");
        root.append(svg("path", { d, class: "halo" }), svg("path", { d, class: "fit" }));
      }
      return spots;
    });
  };

  loosedog.charts = { ready, travel };
})();
