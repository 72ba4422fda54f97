"use strict";
// Choosing a pair, by pointer or by key, in any of the page's drawings. What is
// chosen in one is shown in all.
(() => {
  const { words, draw } = loosedog;

  // chooser keeps which pair is shown. Pointing at a pair shows it; pressing
  // pins it, and it comes back when the pointer leaves.
  const chooser = (page) => {
    const parts = [];
    let shown = -1;
    let pinned = -1;
    const show = (i) => {
      if (i < 0 || i >= page.pairs.length || i === shown) return;
      shown = i;
      for (const part of parts) part(i);
    };
    const self = {
      add: (part) => {
        parts.push(part);
        if (shown >= 0) part(shown);
      },
      now: () => shown,
      point: show,
      leave: () => {
        if (pinned >= 0) show(pinned);
      },
      pin: (i) => {
        if (i < 0 || i >= page.pairs.length) return;
        pinned = i;
        show(i);
      },
      // step goes to the next pair, or with only to the next that only holds for.
      step: (by, only) => {
        for (let i = shown + by; i >= 0 && i < page.pairs.length; i += by) {
          if (!only || only(page.pairs[i])) {
            self.pin(i);
            return;
          }
        }
      },
      play: () => {},
    };
    return self;
  };

  // reach makes a drawing reachable: it can be stepped through with the keys,
  // and says aloud which pair is chosen.
  const reach = (node, page, choose, label) => {
    node.setAttribute("tabindex", "0");
    node.setAttribute("role", "slider");
    node.setAttribute("aria-label", label);
    node.setAttribute("aria-valuemin", "1");
    node.setAttribute("aria-valuemax", String(Math.max(1, page.pairs.length)));
    node.setAttribute("aria-valuenow", "1");
    choose.add((i) => {
      node.setAttribute("aria-valuenow", String(i + 1));
      node.setAttribute("aria-valuetext", words.describe(page, page.pairs[i]));
    });
    const keys = {
      ArrowRight: () => choose.step(1),
      ArrowLeft: () => choose.step(-1),
      ArrowDown: () => choose.step(1, words.flagged),
      ArrowUp: () => choose.step(-1, words.flagged),
      PageDown: () => choose.step(1, words.flagged),
      PageUp: () => choose.step(-1, words.flagged),
      Home: () => choose.pin(0),
      End: () => choose.pin(page.pairs.length - 1),
      Enter: () => choose.play(1),
      " ": () => choose.play(1),
    };
    node.addEventListener("keydown", (e) => {
      if (e.altKey || e.ctrlKey || e.metaKey || !keys[e.key]) return;
      e.preventDefault();
      keys[e.key]();
    });
  };

  // pointing shows the pair under the pointer: that of the spots, each with its
  // pair as i, from which the pointer is least far off.
  const pointing = (node, choose, spots, off) => {
    const at = (e) => {
      const box = node.getBoundingClientRect();
      const spot = draw.nearest(spots, (s) => off(s, e.clientX - box.left, e.clientY - box.top));
      return spot ? spot.i : -1;
    };
    node.addEventListener("pointermove", (e) => {
      if (e.pointerType === "mouse") choose.point(at(e));
    });
    node.addEventListener("pointerleave", choose.leave);
    node.addEventListener("click", (e) => choose.pin(at(e)));
  };

  loosedog.choose = { chooser, reach, pointing };
})();
