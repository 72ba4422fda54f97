"use strict";
// The page as a file of its own: the take stands in it.
(() => {
  const page = JSON.parse(document.getElementById("take").textContent);
  loosedog.look(document.getElementById("look"), page);
})();
