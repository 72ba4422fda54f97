"use strict";
// What the take says: the headline, the causes with their evidence, the list of
// flagged pairs, the figures.
(() => {
  const { words, draw } = loosedog;
  const { make } = draw;

  const troubles = (page) => make("ul", {}, page.take.recording.problems.map((p) => make("li", { text: words.sentence(p.text) })));

  // verdict is the take in short; where it cannot be measured, why comes first.
  const verdict = (page) =>
    make("section", { class: "verdict", "aria-label": "In short" }, [
      make("p", { class: "headline", text: page.headline }),
      make("p", { class: "quiet", text: words.sentence(page.heard) }),
      page.take.recording.usable ? null : troubles(page),
      ...page.meaning.map((text) => make("p", { text })),
    ]);

  const problems = (page) => {
    const list = page.take.recording.problems;
    if (list.length === 0 || !page.take.recording.usable) return null;
    return make("section", { class: "care" }, [make("h2", { text: "With care" }), troubles(page)]);
  };

  const corrected = (page) => {
    const n = (page.take.corrections || []).length;
    if (n === 0) return null;
    return make("p", { class: "by-hand-note", text: "Corrected by hand: " + words.count(n, "event") + ". What follows rests on these, not on the sound alone. They carry a star (*)." });
  };

  const findings = (page, choose) => {
    if (!page.take.recording.usable || page.take.strokes.length === 0) return null;
    const said = page.answer !== ""; // in short, above
    if (said && page.findings.length === 0) return null;
    const node = make("section", { class: "findings" }, make("h2", { text: "Why, and what to check" }));
    if (said) node.append(make("p", { class: "quiet", text: "Those that explain the most come first." }));
    else if (page.findings.length === 0) node.append(make("p", { text: "This take names no cause. So nothing is to be adjusted because of it." }));
    if (page.findings.length === 0) return node;
    node.append(make("ol", {}, page.findings.map((f) => finding(page, choose, f))));
    return node;
  };

  const finding = (page, choose, f) => {
    const item = make("li", {}, [
      make("h3", { text: f.title.charAt(0).toUpperCase() + f.title.slice(1) }),
      f.evidence.length ? make("ul", { class: "evidence" }, f.evidence.map((text) => make("li", { text }))) : null,
    ]);
    const first = page.pairs.findIndex((p) => f.where.includes(p.second) || f.where.includes(p.first));
    if (f.places) {
      const where = make("p", {}, [make("span", { class: "label", text: "Where " }), f.places + ". "]);
      if (first >= 0) {
        where.append(make("button", {
          type: "button", class: "plain", text: "Show the first",
          "aria-label": "Show the first place of: " + f.title,
          onclick: () => {
            choose.pin(first);
            document.querySelector(".pair").scrollIntoView({ block: "nearest" });
          },
        }));
      }
      item.append(where);
    }
    if (f.check) item.append(make("p", {}, [make("span", { class: "label", text: "Check " }), f.check]));
    if (f.next) item.append(make("p", {}, [make("span", { class: "label", text: "Then " }), f.next]));
    if (f.caution) item.append(make("p", { class: "caution" }, [make("span", { class: "label", text: "Take care " }), f.caution]));
    return item;
  };

  // flaggedList is the table of crowded and piled pairs, the worst first.
  const flaggedList = (page, choose) => {
    const list = page.pairs.map((p, i) => ({ p, i })).filter(({ p }) => words.flagged(p)).sort((a, b) => a.p.number - b.p.number);
    if (list.length === 0) return null;
    const named = loosedog.paper.lettersKnown(page);
    // short is by how much of a space, with no more words than a column needs.
    const short = (p) => (p.spacing === "piled" && !(p.short_by < 0.995) ? "whole" : words.known(p.short_by) ? words.fixed(p.short_by, 2) : words.cannotTell);
    const rows = list.map(({ p, i }) => {
      const second = page.take.strokes[p.second];
      const pick = make("button", { type: "button", class: "plain", text: String(p.number), "aria-label": "Show pair " + p.number, onclick: () => choose.pin(i) });
      const row = make("tr", {}, [
        make("td", {}, pick),
        make("td", { class: "number", text: String(second.line + 1) }),
        make("td", { class: "number", text: String(second.position) }),
        named ? make("td", { text: p.letters || "\u2013" }) : null,
        make("td", { text: p.word }),
        make("td", { class: "number", text: short(p) }),
        make("td", { class: "number", text: words.ms(p.slack_ms) }),
      ]);
      choose.add((now) => row.classList.toggle("chosen", now === i));
      return row;
    });
    const table = make("table", {}, [
      make("thead", {}, make("tr", {}, ["Pair", "Line", "Position", named ? "Letters" : null, "What", "Short by", "Slack"].filter(Boolean).map((text) => make("th", { scope: "col", text })))),
      make("tbody", {}, rows),
    ]);
    return make("section", {}, [
      make("h2", { text: "Struck before the carriage stood ready" }),
      make("p", { class: "quiet", text: list.length + " of " + words.count(page.pairs.length, "pair") + ", the worst first. \u201cShort by\u201d is the part of a space that is missing." }),
      make("div", { class: "scroll", tabindex: "0", role: "region", "aria-label": "Table of flagged pairs" }, table),
    ]);
  };

  const figures = (page) => {
    if (!page.take.recording.usable || page.take.strokes.length === 0) return null;
    const s = page.take.summary;
    const row = (name, what, f) => {
      const between = words.known(f.low) && words.known(f.high) ? words.fixed(f.low, 1) + " to " + words.fixed(f.high, 1) : words.cannotTell;
      return make("tr", {}, [
        make("th", { scope: "row" }, [name, make("span", { class: "quiet what", text: what })]),
        make("td", { class: "number", text: words.known(f.median) ? words.fixed(f.median, 1) : words.cannotTell }),
        make("td", { class: "number", text: between }),
      ]);
    };
    return make("section", {}, [
      make("h2", { text: "Figures" }),
      make("div", { class: "scroll", tabindex: "0", role: "region", "aria-label": "Table of figures" }, make("table", {}, [
        make("thead", {}, make("tr", {}, ["in ms", "median", "95 % interval"].map((text) => (text ? make("th", { scope: "col", text }) : make("td"))))),
        make("tbody", {}, [
          row("Lead", "trip to strike", s.lead_ms),
          row("Latency", "strike to release", s.latency_ms),
          row("Machine\u2019s share", "of the latency", s.machine_latency_ms),
          row("Travel", "release to landing", s.travel_ms),
          row("Ready time", "strike to landing", s.ready_ms),
        ]),
      ])),
    ]);
  };

  // key explains the marks.
  const key = (page) => {
    const entry = (mark, text) => {
      const root = draw.canvas(22, 22);
      root.append(draw.marks[mark](11, 11, 7));
      return make("li", {}, [root, text]);
    };
    return make("ul", { class: "legend", "aria-label": "What the marks mean" }, [
      entry("ring", "in time"), entry("wedge", "crowded"), entry("cross", "piled"), entry("dot", "cannot be told"),
    ]);
  };

  loosedog.story = { verdict, problems, corrected, findings, flaggedList, figures, key };
})();
