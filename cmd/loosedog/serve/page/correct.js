"use strict";
// Putting events right by hand, in the part of the page that shows a pair.
(() => {
  const { draw, words, pair } = loosedog;
  const { make } = draw;

  // corrector adds to the pair's part. measure(corrections, at) has the take
  // measured with them; at is the time of the strike to come back to.
  const corrector = (page, measure) => (panel, options, choose) => {
    let on = false;
    const edits = new Map(); // "stroke:event" to a time, null where it is not there
    const added = []; // { at, kind }

    const toggle = make("button", { type: "button", class: "do", text: "Correct by hand", "aria-expanded": "false" });
    const rows = make("div", { class: "events" });
    const count = make("p", { class: "quiet", role: "status" });
    const go = make("button", { type: "button", class: "do first", text: "Measure again with these" });
    const undo = make("button", { type: "button", class: "do", text: "Undo these" });
    const box = make("div", { class: "correct" }, [
      make("p", { class: "quiet small", text: "Drag an event in the picture, or type its time: milliseconds after the first strike. Everything measured from it will be marked as corrected." }),
      rows, count, make("div", { class: "choices" }, [go, undo]),
    ]);
    box.hidden = true;

    const key = (stroke, event) => stroke + ":" + event;
    const timeOf = (stroke, event) => (edits.has(key(stroke.index, event)) ? edits.get(key(stroke.index, event)) : stroke[event + "_s"]);
    const gone = (stroke) => edits.get(key(stroke.index, "strike")) === null && edits.has(key(stroke.index, "strike"));

    options.events = (stroke) => {
      if (gone(stroke)) return [];
      return pair.names
        .map((event) => ({
          event, at: timeOf(stroke, event), name: event === "strike" && stroke.kind === "space" ? "thump" : event,
          byHand: edits.has(key(stroke.index, event)) || (stroke.corrected || []).includes(event),
        }))
        .filter((e) => words.known(e.at))
        .sort((a, b) => a.at - b.at);
    };

    const changes = () => edits.size + added.length;
    const tell = () => {
      const n = changes();
      count.textContent = n === 0 ? "Nothing changed yet." : words.count(n, "change") + " to be measured.";
      go.disabled = undo.disabled = n === 0;
    };
    const set = (stroke, event, at) => {
      const before = stroke[event + "_s"];
      if (at === before || (at === null && !words.known(before))) edits.delete(key(stroke.index, event));
      else edits.set(key(stroke.index, event), at === null ? null : Math.max(0, Math.round(at * 1e6) / 1e6));
      tell();
      panel.redraw();
    };

    const eventRow = (stroke, zero, event, side) => {
      const at = timeOf(stroke, event);
      const name = event === "strike" && stroke.kind === "space" ? "thump" : event;
      const label = side + " " + name;
      const id = "event-" + stroke.index + "-" + event;
      if (!words.known(at)) {
        return make("p", { class: "event-row" }, [
          make("span", { class: "event-label", text: name }),
          make("span", { class: "quiet", text: "not there" }),
          make("button", {
            type: "button", class: "plain", text: "Add", "aria-label": "Add the " + label,
            onclick: () => {
              const after = { trip: -0.004, strike: 0, release: 0.045, landing: 0.08 }[event];
              set(stroke, event, stroke.strike_s + after);
              fill();
              document.getElementById(id).focus();
            },
          }),
        ]);
      }
      const input = make("input", { type: "number", step: "0.1", id, value: ((at - zero) * 1000).toFixed(1) });
      input.addEventListener("input", () => {
        const ms = input.valueAsNumber;
        if (isFinite(ms)) set(stroke, event, zero + ms / 1000);
      });
      return make("p", { class: "event-row" }, [
        make("label", { class: "event-label", for: id, "aria-label": label + ", milliseconds after the first strike", text: name }),
        input, make("span", { text: "ms" }),
        event === "strike" ? null : make("button", {
          type: "button", class: "plain", text: "Not there", "aria-label": "Not there: the " + label,
          onclick: () => {
            set(stroke, event, null);
            fill();
          },
        }),
      ]);
    };

    const strokeRows = (stroke, zero, side) => {
      const head = make("h3", { text: side === "first" ? "First stroke" : "Second stroke" });
      if (gone(stroke)) {
        return make("div", {}, [head, make("p", { text: "Taken away." }), make("button", {
          type: "button", class: "plain", text: "Put it back", "aria-label": "Put it back (the " + side + " stroke)",
          onclick: () => {
            edits.delete(key(stroke.index, "strike"));
            fill();
            panel.redraw();
          },
        })]);
      }
      return make("div", {}, [head, ...pair.names.map((e) => eventRow(stroke, zero, e, side)), make("button", {
        type: "button", class: "plain", text: "This is no stroke: take it away", "aria-label": "This is no stroke: take it away (the " + side + " one)",
        onclick: () => {
          set(stroke, "strike", null);
          fill();
        },
      })]);
    };

    const fill = () => {
      tell();
      if (!on || choose.now() < 0) return;
      const { a, b } = panel.strokes();
      const middle = (a.strike_s + b.strike_s) / 2;
      rows.replaceChildren(
        strokeRows(a, a.strike_s, "first"), strokeRows(b, a.strike_s, "second"),
        make("p", {}, ["type", "space"].map((kind) => make("button", {
          type: "button", class: "plain", text: kind === "type" ? "Add a letter between them" : "Add a space-bar stroke between them",
          onclick: () => {
            added.push({ at: middle, kind });
            tell();
          },
        }))),
      );
    };
    options.chosen = fill;

    toggle.addEventListener("click", () => {
      on = !on;
      toggle.setAttribute("aria-expanded", String(on));
      box.hidden = !on;
      options.drag = on ? (stroke, event, at, done) => {
        set(page.take.strokes[stroke], event, at);
        if (done) fill();
      } : null;
      fill();
      panel.redraw();
    });
    undo.addEventListener("click", () => {
      edits.clear();
      added.length = 0;
      fill();
      panel.redraw();
    });
    go.addEventListener("click", () => {
      // An event names its stroke by the strike as it stands, so strikes come last.
      const list = [...edits].map(([k, to]) => {
        const [stroke, event] = k.split(":");
        return { event, stroke_s: page.take.strokes[Number(stroke)].strike_s, to_s: to };
      });
      list.sort((x, y) => (x.event === "strike") - (y.event === "strike"));
      for (const s of added) list.push({ event: "strike", stroke_s: null, to_s: s.at, kind: s.kind });
      measure(list, panel.strokes().a.strike_s);
    });

    panel.node.append(make("div", { class: "choices" }, toggle), box);
    tell();
  };

  loosedog.correct = { corrector };
})();
