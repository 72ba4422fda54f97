"use strict";
// Comparing: takes from before an adjustment against takes from after it.
(() => {
  const { draw, words, ask, away } = loosedog;
  const { make } = draw;

  // query is a comparison's address: names before, names after, what was done.
  const query = ({ before, after, done }) => {
    const q = new URLSearchParams();
    for (const b of before) q.append("before", b);
    for (const a of after) q.append("after", a);
    if (done) q.append("done", done);
    return q.toString();
  };

  const parse = (text) => {
    const q = new URLSearchParams(text);
    return { before: q.getAll("before"), after: q.getAll("after"), done: q.get("done") || "" };
  };

  // chooser is the part of the first page in which takes are picked; null where
  // there are not two to compare.
  const chooser = (folder) => {
    const takes = folder.takes.filter((t) => t.measured && t.usable);
    if (takes.length < 2) return null;
    // The oldest is most likely the one from before.
    const rows = [...takes].reverse().map((t) => {
      const box = (side) => make("input", { type: "checkbox", name: side, value: t.name, "aria-label": side + " the adjustment: " + t.name });
      return make("tr", {}, [make("td", {}, box("before")), make("td", {}, box("after")), make("th", { scope: "row", text: t.name })]);
    });
    const done = make("input", { type: "text", id: "done", maxlength: "300", autocomplete: "off" });
    const state = make("p", { role: "status", class: "wrong" });
    state.hidden = true;
    const table = make("table", { class: "choose-two" }, [
      make("thead", {}, make("tr", {}, ["before", "after", "take"].map((text) => make("th", { scope: "col", text })))),
      make("tbody", {}, rows),
    ]);
    table.addEventListener("change", (e) => {
      // A take stands on one side only.
      if (e.target.checked) for (const other of e.target.closest("tr").querySelectorAll("input")) if (other !== e.target) other.checked = false;
    });
    const go = () => {
      const of = (side) => [...table.querySelectorAll("input[name=" + side + "]:checked")].map((i) => i.value);
      const what = { before: of("before"), after: of("after"), done: done.value.trim() };
      state.hidden = what.before.length > 0 && what.after.length > 0;
      state.textContent = "Pick at least one take from before and one from after.";
      if (state.hidden) loosedog.go("compare", query(what));
    };
    return make("section", { class: "comparing" }, [
      make("h2", { text: "Did it help?" }),
      make("p", { class: "quiet", text: "Pick takes of one machine from before an adjustment and from after it." }),
      make("div", { class: "scroll", tabindex: "0", role: "region", "aria-label": "Takes to compare" }, table),
      make("div", { class: "form" }, make("p", {}, [make("label", { for: "done", text: "What was done between them, in your words" }), done])),
      make("div", { class: "choices" }, make("button", { type: "button", class: "do first", text: "Compare", onclick: go })),
      state,
    ]);
  };

  const kinds = [["picture", "The comparison\u2019s picture", "PNG"], ["note", "The repair note", "Markdown"], ["data", "Everything", "JSON, for programs"]];

  const verdicts = { better: "Better.", worse: "Worse.", "no difference shown": "No difference shown.", "cannot tell": "Cannot tell." };

  const side = (name, s) => make("p", {}, [make("span", { class: "label", text: name + " " }),
    s.takes.map((t) => t.path).join(", ") + " \u2013 " + words.count(s.strokes, "stroke") + " on " + words.count(s.lines, "line")]);

  const measures = (list) => {
    const number = (m, v) => (words.known(v) ? words.fixed(v, 1) + (m.unit ? " " + m.unit : "") : words.cannotTell);
    return make("div", { class: "scroll", tabindex: "0", role: "region", "aria-label": "The machine\u2019s own measures" }, make("table", {}, [
      make("thead", {}, make("tr", {}, ["the machine\u2019s own", "before", "after", "shift, 95 % interval"].map((text) => make("th", { scope: "col", text })))),
      make("tbody", {}, list.map((m) => make("tr", {}, [
        make("th", { scope: "row", text: m.text + (m.where ? ", " + m.where : "") }),
        make("td", { class: "number", text: number(m, m.before) }),
        make("td", { class: "number", text: number(m, m.after) }),
        make("td", { class: "number", text: words.known(m.shift.low) && words.known(m.shift.high) ?
          words.fixed(m.shift.value, 1) + " (" + words.fixed(m.shift.low, 1) + " to " + words.fixed(m.shift.high, 1) + ")" : words.cannotTell }),
      ]))),
    ]));
  };

  const view = async (root, text) => {
    const what = parse(text);
    root.replaceChildren(make("h1", { text: "Did it help?" }), make("p", { role: "status", text: "Comparing \u2026" }));
    const q = query(what);
    const got = await ask.json("/api/compare?" + q);
    const c = got.comparison;
    const more = c.remarks.filter((r) => !c.because.includes(r.text));
    const stopped = c.remarks.some((r) => r.stops);
    const picture = make("img", { class: "picture", src: "/api/compare/picture?" + q, alt: "Picture of the comparison: " + c.verdict + ". " + c.because.join(" "), width: "2000", height: "1400" });
    root.replaceChildren(...[
      make("h1", { text: "Did it help?" }),
      make("section", { class: "story" }, [
        make("p", { class: "headline", text: verdicts[c.verdict] || c.verdict }),
        ...c.because.map((t) => make("p", { text: t })),
        side("Before", c.before), side("After", c.after),
        c.done ? make("p", {}, [make("span", { class: "label", text: "Done " }), c.done]) : null,
        more.length ? make("ul", {}, more.map((r) => make("li", { text: r.text }))) : null,
        c.record.length ? make("div", {}, [make("h2", { text: "What to record" }), make("ul", {}, c.record.map((t) => make("li", { text: t })))]) : null,
        make("div", { class: "caution" }, got.cautions.map((t) => make("p", { text: t }))),
      ]),
      stopped ? null : make("section", {}, [make("h2", { text: "The picture" }), make("a", { href: "/api/compare/picture?" + q, download: "" }, picture)]),
      c.measures.length ? make("section", {}, [make("h2", { text: "Before and after" }), measures(c.measures)]) : null,
      make("details", { class: "as-text" }, [make("summary", { text: "All of it as text" }), make("pre", { tabindex: "0", text: got.text })]),
      away(kinds.map(([kind, name, t]) => ["/api/compare/" + kind + "?" + q, name, t])),
    ].filter(Boolean));
  };

  loosedog.compare = { chooser, view };
})();
