"use strict";
// A take of the folder: looked at, measured again, corrected, taken away.
(() => {
  const { draw, words, ask, away, bring, correct, folder } = loosedog;
  const { make } = draw;

  const kinds = [
    ["page", "The whole page, in one file", "opens in any browser, offline, with the sound of the flagged pairs"],
    ["picture", "The picture", "PNG, for the repair note"],
    ["note", "The note", "Markdown, to paste into a record"],
    ["table", "The strokes", "CSV, for a spreadsheet"],
    ["data", "Everything", "JSON, for programs"],
    ["labels", "The label track", "for a sound editor"],
  ];

  // nearest is the pair whose first strike stands next to a time.
  const nearest = (at) => (page) => {
    let best = -1;
    let least = Infinity;
    page.pairs.forEach((p, i) => {
      const off = Math.abs(page.take.strokes[p.first].strike_s - at);
      if (off < least) [best, least] = [i, off];
    });
    return best;
  };

  const view = async (root, name, first) => {
    const got = await ask.take(name);
    const heading = make("h1", { text: name });
    const known = got.measured ? got.page.take.asked || {} : {};
    const form = folder.form("again", known);
    const again = async (corrections, at) => {
      if (await bring.again(name, { ...form.read(), corrections })) await view(root, name, at === undefined ? undefined : nearest(at));
    };
    if (!got.measured) {
      root.replaceChildren(heading, make("div", { class: "sheet" }, got.why ? make("p", { text: words.sentence(got.why) }) : [
        make("p", { text: "This take was not measured yet." }), form.node,
        make("button", { type: "button", class: "do first", text: "Measure it", onclick: () => again([]) }),
      ]));
      return;
    }
    const { page } = got;
    const made = page.take.corrections || [];
    const body = make("div", { class: "look" });
    root.replaceChildren(heading, body);
    loosedog.look(body, page, {
      peaks: got.peaks, fetch: ask.clip(name), first,
      aside: correct.corrector(page, (list, at) => again([...made, ...list], at)),
    });
    root.append(make("div", { class: "after" }, [
      away(kinds.map(([kind, what, text]) => [ask.saved(name, kind), what, text])),
      make("section", { class: "sheet" }, [
        make("h2", { text: "Measure it again" }), form.node,
        make("div", { class: "choices" }, [
          make("button", { type: "button", class: "do first", text: "Measure again", onclick: () => again(made) }),
          made.length ? make("button", { type: "button", class: "do", text: "Take back all corrections", onclick: () => again([]) }) : null,
        ]),
      ]),
    ]));
  };

  loosedog.take = { view };
})();
