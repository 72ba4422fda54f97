"use strict";
// The first page: bring a recording, or choose one that lies in the folder.
(() => {
  const { draw, words, bring, compare } = loosedog;
  const { make } = draw;

  const actions = [["full", "only when the key is let go (the common one)"], ["half", "half as the key goes down, half when it is let go"], ["down", "as the key goes down"]];

  const select = (id, options, value) => {
    const node = make("select", { id }, options.map(([v, text]) => make("option", { value: v, text })));
    node.value = value;
    return node;
  };

  // form asks what is known of the machine and the text; read() gives it.
  const form = (id, asked, machine) => {
    const a = asked || {};
    const m = machine || {};
    const action = select(id + "-action", actions, a.action || m.action || "full");
    const pitch = select(id + "-pitch", [["10", "10 letters to the inch (pica)"], ["12", "12 letters to the inch (elite)"]], String(a.pitch || m.pitch || 10));
    const text = make("textarea", { id: id + "-text", rows: "5", spellcheck: "false", autocomplete: "off" });
    text.value = a.text || "";
    const node = make("div", { class: "form" }, [
      make("p", {}, [make("label", { for: id + "-action", text: "The carriage moves" }), action]),
      make("p", {}, [make("label", { for: id + "-pitch", text: "Its type" }), pitch]),
      make("p", {}, [make("label", { for: id + "-text", text: "The text that was typed, line for line; leave it empty if you do not know" }), text]),
    ]);
    return {
      node,
      read: () => ({ action: action.value, pitch: Number(pitch.value), text: text.value }),
    };
  };

  const when = (iso) => new Date(iso).toLocaleDateString(undefined, { year: "numeric", month: "long", day: "numeric" });

  const item = (t) => make("li", {}, [
    make("a", { href: "#take=" + encodeURIComponent(t.name), class: "take-name", text: t.name }),
    make("p", { class: "quiet", text: (t.measured ? t.words : "not measured yet") + " \u00b7 " + when(t.changed) }),
  ]);

  // called is what the machine file calls the machine.
  const called = (m) => [...new Set([m.name, m.number, m.colour].filter(Boolean))].join(", ");

  const view = (root, folder) => {
    const about = form("new", null, folder.machine);
    const file = make("input", { type: "file", id: "file", class: "hidden-file", accept: "audio/*,.wav,.m4a,.mp3,.ogg,.opus,.flac,.caf,.webm,.aac" });
    file.addEventListener("change", () => {
      if (file.files[0]) bring.bring(file.files[0], about.read());
      file.value = "";
    });
    const zone = make("div", { class: "drop" }, [
      make("p", { class: "headline", text: "Drop a recording of typing here" }),
      make("div", { class: "choices" }, [
        file,
        make("label", { for: "file", class: "do first", text: "Choose a file" }),
        make("a", { href: "#record", class: "do", text: "Record here" }),
      ]),
      make("p", { class: "quiet", text: "WAV is best; m4a from a phone and whatever else this browser plays will do." }),
    ]);
    zone.addEventListener("dragover", (e) => {
      e.preventDefault();
      zone.classList.add("over");
    });
    zone.addEventListener("dragleave", () => zone.classList.remove("over"));
    zone.addEventListener("drop", (e) => {
      e.preventDefault();
      zone.classList.remove("over");
      if (e.dataTransfer.files[0]) bring.bring(e.dataTransfer.files[0], about.read());
    });
    const takes = make("section", { class: "takes" }, [make("h2", { text: "Takes in this folder" })]);
    if (folder.takes.length === 0) takes.append(make("p", { class: "quiet", text: "None yet." }));
    else takes.append(make("ul", { class: "list" }, folder.takes.map(item)));
    if (folder.odd > 0) takes.append(make("p", { class: "quiet small", text: folder.odd + " more cannot be shown: links, odd names, or too many." }));
    root.replaceChildren(...[
      make("h1", { class: "away", text: "Loosedog: takes" }),
      folder.machine ? make("p", { class: "quiet", text: "This folder\u2019s machine: " + (called(folder.machine) || "no name") + "." }) : null,
      folder.machine_trouble ? make("p", { class: "wrong", role: "alert", text: words.sentence(folder.machine_trouble) }) : null,
      zone,
      make("details", { class: "about" }, [make("summary", { text: "What you know of the machine and the text" }), about.node]),
      takes, compare.chooser(folder),
    ].filter(Boolean));
    return { about };
  };

  loosedog.folder = { view, form };
})();
