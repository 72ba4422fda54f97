"use strict";
// Which part of the page is shown: the address says it.
(() => {
  const { draw, words, ask, compare, folder, take, record } = loosedog;
  const { make } = draw;
  const main = document.getElementById("main");
  let leave = null;
  let about = null; // what was said of the machine and the text, for new takes

  loosedog.go = (part, name) => {
    const to = "#" + part + "=" + encodeURIComponent(name);
    if (location.hash === to) show();
    else location.hash = to;
  };

  const back = () => make("p", { class: "back" }, make("a", { href: "#", text: "All takes" }));

  const show = async () => {
    if (leave) await leave();
    leave = null;
    loosedog.sound.stop();
    const [, part, rest] = location.hash.match(/^#(\w+)(?:=(.*))?$/) || [null, "", ""];
    let value = "";
    try {
      value = decodeURIComponent(rest || "");
    } catch {
      // an address nobody made here
    }
    const root = make("div", { class: "view" });
    main.replaceChildren(...(part ? [back(), root] : [root]));
    try {
      const now = await ask.folder();
      document.getElementById("where").textContent = "Folder: " + now.folder;
      document.title = (part === "take" ? value : part === "record" ? "Record" : "Takes") + " \u00b7 Loosedog";
      if (part === "take") await take.view(root, value);
      else if (part === "compare") await compare.view(root, value);
      else if (part === "record") leave = record.view(root, now.sheet, now.take_seconds, () => ({ text: now.sheet, ...said() }));
      else about = folder.view(root, now).about;
    } catch (e) {
      root.replaceChildren(make("h1", { text: "This did not work" }), make("p", { role: "alert", text: words.sentence(e.message) }));
    }
    if (part) main.focus({ preventScroll: true });
    window.scrollTo(0, 0);
  };

  // said is what the first page was told of the machine; the text is the sheet's.
  const said = () => {
    if (!about) return {};
    const { action, pitch } = about.read();
    return { action, pitch };
  };

  // A file dropped beside the place for it would be opened in place of the page.
  for (const event of ["dragover", "drop"]) window.addEventListener(event, (e) => e.preventDefault());
  window.addEventListener("hashchange", show);
  show();
})();
