"use strict";
// A measured take on the page: every part of it, tied together by which pair is
// chosen.
(() => {
  const { words, draw, choose: choosing, sound, strip, paper, charts, pair, story } = loosedog;
  const { make } = draw;

  // part puts a drawing under its heading.
  const part = (heading, text, drawing, extra) =>
    drawing && make("section", {}, [make("h2", { text: heading }), text ? make("p", { class: "quiet", text }) : null, drawing, extra]);

  // look fills root with a take. options.fetch gets the sound of a pair,
  // options.aside adds to the pair's part, options.first says which pair to show
  // first.
  const look = (root, page, options) => {
    const opt = options || {};
    const choose = choosing.chooser(page);
    const peaks = sound.peaks(opt.peaks || (page.sound ? page.sound.peaks : null));
    const body = make("div", { class: "story" }, [story.verdict(page), story.corrected(page), story.problems(page)]);
    root.replaceChildren(body);
    root.classList.toggle("has-pair", page.pairs.length > 0);
    if (page.pairs.length === 0) return;

    const panelOptions = {};
    const panel = pair.panel(page, choose, sound.store(page, opt.fetch), panelOptions);
    if (opt.aside) opt.aside(panel, panelOptions, choose);
    const named = paper.lettersKnown(page);
    body.append(...[
      story.findings(page, choose),
      part("The page as it was typed",
        named ? "Every letter stands where the carriage put it." :
          "Every letter stands where the carriage put it. Which letters they are is not known without the text, so each is a small box.",
        paper.paper(page, choose), story.key(page)),
      part("The take, line by line", "The sound of each line, time running to the right; each upright stroke is a strike, each short one the space bar.",
        strip(page, peaks, choose)),
    ].filter(Boolean));
    // On a narrow screen the pair stands below the drawings in which it is chosen
    // most, on a wide one beside everything.
    const rest = make("div", { class: "story rest" }, [
      part("Was the carriage ready?", "Each mark is a pair: how long the machine needed, and how long the hand gave it. Under the line the hand was too quick. In the column \u201cnone\u201d no landing was heard.",
        charts.ready(page, choose), page.ranges && page.ranges.outside ? make("p", { class: "quiet small", text: words.count(page.ranges.outside, "pair lies", "pairs lie") + " outside of the frame or at its edge." }) : null),
      part("Travel along the line", page.travel.note, charts.travel(page, choose)),
      story.flaggedList(page, choose),
      story.figures(page),
    ]);
    root.append(make("div", { class: "side" }, panel.node), rest);

    let first = opt.first ? opt.first(page) : -1;
    if (first < 0) first = page.pairs.findIndex((p) => p.number === 1);
    choose.pin(first < 0 ? 0 : first);
  };

  loosedog.look = look;
})();
