"use strict";
// One pair of strokes: its sound with the named events, and the keys that play
// it.
(() => {
  const { words, draw } = loosedog;
  const { make, svg, round } = draw;
  const names = ["trip", "strike", "release", "landing"];

  // eventsOf are the sounds of a stroke that were heard, in order of time.
  const eventsOf = (stroke) =>
    names
      .map((event) => ({ event, at: stroke[event + "_s"], name: event === "strike" && stroke.kind === "space" ? "thump" : event }))
      .filter((e) => words.known(e.at))
      .sort((a, b) => a.at - b.at);

  const height = 330;
  const edge = { top: 62, bottom: 62, left: 14, right: 14 };

  // waveform draws samples between two times, heights on a square-root scale so
  // that quiet clicks show beside a strike.
  const waveform = (clip, x, from, to, middle, half) => {
    const first = Math.max(0, Math.floor((from - clip.start) * clip.rate));
    const last = Math.min(clip.samples.length, Math.ceil((to - clip.start) * clip.rate));
    let peak = 0;
    for (let i = first; i < last; i++) peak = Math.max(peak, Math.abs(clip.samples[i]));
    if (peak === 0 || last <= first) return "";
    const left = x(clip.start + first / clip.rate);
    const right = x(clip.start + last / clip.rate);
    const columns = Math.max(1, Math.min(Math.floor(right - left), last - first));
    const root = (v) => Math.sign(v) * Math.sqrt(Math.abs(v) / peak);
    let d = "";
    for (let c = 0; c < columns; c++) {
      const a = first + Math.floor(((last - first) * c) / columns);
      const b = Math.max(a + 1, first + Math.floor(((last - first) * (c + 1)) / columns));
      let low = Infinity;
      let high = -Infinity;
      for (let i = a; i < b; i++) {
        low = Math.min(low, clip.samples[i]);
        high = Math.max(high, clip.samples[i]);
      }
      const px = round(left + ((right - left) * (c + 0.5)) / columns);
      d += "M" + px + " " + round(middle - root(high) * half) + "V" + round(middle - root(low) * half + 0.6);
    }
    return d;
  };

  // panel is the whole part. options.drag, when given, is asked to move an
  // event; options.events changes which events a stroke has.
  const panel = (page, choose, clipOf, options) => {
    const opt = options || {};
    const title = make("h2", { class: "pair-name", text: "A pair" });
    const what = make("p", { class: "pair-what", "aria-live": "polite" });
    const box = make("div", { class: "pair-sound" });
    const note = make("p", { class: "quiet small" });
    const facts = make("dl", { class: "facts" });
    const keys = make("div", { class: "keys", role: "group", "aria-label": "Play this pair" });
    const node = make("section", { class: "pair", "aria-label": "The chosen pair" });
    let clip = null;
    let width = 0;
    let head = null;
    let view = null;
    let sounding = 0;
    let grips = [];

    const speeds = [1, 0.5, 0.25, 0.125].map((rate) => {
      const key = make("button", { type: "button", class: "key", "aria-label": words.fraction[rate] + ", play at " + words.speed[rate], title: "Play at " + words.speed[rate], text: words.fraction[rate] });
      key.addEventListener("click", () => choose.play(rate));
      keys.append(key);
      return { rate, key };
    });
    const halt = make("button", { type: "button", class: "key word", text: "stop", onclick: () => loosedog.sound.stop() });
    keys.append(halt);

    choose.play = async (rate) => {
      if (!clip) return;
      const me = ++sounding;
      const { key } = speeds.find((s) => s.rate === rate);
      for (const s of speeds) s.key.classList.toggle("sounding", s.key === key);
      try {
        await loosedog.sound.play(clip, rate, (at) => {
          if (!head || !view) return;
          head.style.display = at === null ? "none" : "";
          if (at !== null) head.setAttribute("d", "M" + round(view.x(at)) + " " + edge.top + "V" + (height - edge.bottom));
        });
      } finally {
        if (me === sounding) key.classList.remove("sounding");
      }
    };

    const strokesOf = () => {
      const p = page.pairs[choose.now()];
      return { p, a: page.take.strokes[p.first], b: page.take.strokes[p.second] };
    };
    const events = (stroke) => (opt.events ? opt.events(stroke) : eventsOf(stroke));

    const redraw = () => {
      if (choose.now() < 0 || width < 40) return;
      const { p, a, b } = strokesOf();
      const root = draw.canvas(width, height);
      grips = [];
      if (!words.known(p.from_s) || !words.known(p.to_s)) {
        box.replaceChildren(make("p", { class: "quiet", text: "A strike of this pair has no time that could be shown." }));
        return;
      }
      const from = p.from_s;
      const to = p.to_s;
      const x = (t) => edge.left + ((t - from) / (to - from)) * (width - edge.left - edge.right);
      view = { x, time: (px) => from + ((px - edge.left) / (width - edge.left - edge.right)) * (to - from), from, to };
      const middle = height / 2;
      const half = middle - edge.top - 2;
      const zero = a.strike_s;
      // The time by which the second strike came too early.
      if (words.known(a.landing_s) && words.known(b.strike_s) && a.landing_s > b.strike_s) {
        const l = x(b.strike_s);
        root.append(svg("rect", { class: "early", x: round(l), width: round(Math.max(1, x(Math.min(a.landing_s, to)) - l)), y: edge.top, height: height - edge.top - edge.bottom }));
      }
      if (clip) root.append(svg("path", { class: "sound-line", d: waveform(clip, x, from, to, middle, half) }));
      else root.append(svg("path", { class: "grid", d: "M" + edge.left + " " + middle + "H" + (width - edge.right) }));
      for (const t of draw.ticks((from - zero) * 1000, (to - zero) * 1000, width / 90)) {
        const px = round(x(zero + t / 1000));
        root.append(
          svg("path", { class: "frame", d: "M" + px + " " + (height - edge.bottom - 5) + "v5" }),
          svg("text", { class: "scale middle", x: px, y: height - edge.bottom - 9, text: t === 0 ? "0 ms" : words.fixed(t, 0) }),
        );
      }
      named(root, events(a), "first", x, [edge.top - 42, edge.top, height - edge.bottom], p.first);
      named(root, events(b), "second", x, [height - 8, height - edge.bottom, edge.top], p.second);
      head = svg("path", { class: "head" });
      head.style.display = "none";
      root.append(head);
      box.replaceChildren(root);
    };

    // named draws one stroke's events: a line across the sound and the name at
    // the outer edge, moved aside where names would meet.
    const named = (root, list, side, x, [text, near, far], stroke) => {
      const shown = list.filter((e) => e.at >= view.from && e.at <= view.to);
      const per = width < 420 ? 8.6 : 9.6;
      const places = shown.map((e) => x(e.at));
      const at = draw.spread(places, shown.map((e) => e.name.length * per + 12), 0, width);
      shown.forEach((e, k) => {
        const px = round(places[k]);
        const lead = side === "first" ? text + 8 : text - 18;
        root.append(
          svg("path", { class: "event " + side + (e.byHand ? " by-hand" : ""), d: "M" + px + " " + far + "V" + near + "L" + round(at[k]) + " " + lead }),
          svg("text", { class: "event-name middle " + side, x: round(at[k]), y: side === "first" ? text + 3 : text - 2, text: e.name + (e.byHand ? "*" : "") }),
        );
        if (opt.drag) {
          grips.push({ stroke, event: e.event, x: px, side });
          root.append(svg("rect", { class: "grip", x: px - 9, y: edge.top, width: 18, height: height - edge.top - edge.bottom }));
        }
      });
    };

    // drag moves the event that is nearest to the pointer; where those of both
    // strokes are near, the upper half takes the first stroke's.
    const drag = (down) => {
      if (!opt.drag || !view) return;
      const at = (e) => {
        const r = box.getBoundingClientRect();
        return [e.clientX - r.left, e.clientY - r.top];
      };
      const [px, py] = at(down);
      const half = py < height / 2 ? "first" : "second";
      const best = draw.nearest(grips, (g) => Math.abs(px - g.x) + (g.side === half ? 0 : 5), 14);
      if (!best) return;
      down.preventDefault();
      const shift = best.x - px;
      const move = (e) => opt.drag(best.stroke, best.event, view.time(at(e)[0] + shift), false);
      const up = (e) => {
        window.removeEventListener("pointermove", move);
        window.removeEventListener("pointerup", up);
        opt.drag(best.stroke, best.event, view.time(at(e)[0] + shift), true);
      };
      window.addEventListener("pointermove", move);
      window.addEventListener("pointerup", up);
    };
    box.addEventListener("pointerdown", drag);

    const fact = (name, value, strong) => make("div", {}, [make("dt", { text: name }), make("dd", { class: strong ? "strong" : "", text: value })]);

    const show = async (i) => {
      const { p, a, b } = strokesOf();
      title.textContent = words.name(page, p);
      what.textContent = words.letter(a) + ", then " + words.letter(b) + ": " + words.judged(p) + ".";
      const early = words.known(p.slack_ms) && p.slack_ms < 0;
      facts.replaceChildren(
        fact("interval", words.ms(p.interval_ms)),
        fact("ready time", words.ms(p.ready_ms)),
        fact("slack", words.ms(p.slack_ms) + (early ? ", too early" : ""), early),
        fact("latency", words.ms(a.latency_ms)),
        fact("travel", words.ms(a.travel_ms)),
        fact("heard at", words.clock(a.strike_s)),
      );
      if (opt.chosen) opt.chosen();
      clip = null;
      note.textContent = "The sound is being fetched \u2026";
      redraw();
      let got = null;
      let why = page.sound ? "The sound of this pair is not in this file: only flagged pairs have theirs." : "The sound was not at hand: events only.";
      try {
        got = await clipOf(p);
      } catch (e) {
        why = e.message;
      }
      if (choose.now() !== i) return;
      clip = got;
      note.textContent = clip ? "First stroke above, second below. Heights are on a square-root scale, so that quiet clicks show." : why;
      for (const s of speeds) s.key.disabled = !clip;
      redraw();
    };

    node.append(title, what, box, note, keys, facts);
    draw.fitted(box, (w) => {
      width = w;
      redraw();
    });
    choose.add(show);
    return { node, redraw, strokes: strokesOf };
  };

  loosedog.pair = { panel, names };
})();
