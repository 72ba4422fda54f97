"use strict";
// What can be taken away as files: of a take, and of a comparison.
(() => {
  const { make } = loosedog.draw;

  // away lists links: for each the address, what it is, and its form or use.
  loosedog.away = (links) => make("section", { class: "sheet away-with" }, [
    make("h2", { text: "Take it away" }),
    make("ul", { class: "list" }, links.map(([href, what, text]) => make("li", {}, [
      make("a", { href, download: "", text: what }), make("span", { class: "quiet", text: " \u2013 " + text }),
    ]))),
  ]);
})();
