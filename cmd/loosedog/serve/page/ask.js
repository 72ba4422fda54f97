"use strict";
// Talking to the program that serves this page.
(() => {
  const at = (name) => "/api/takes/" + encodeURIComponent(name);

  // Trouble is what the program refuses, in its own words.
  class Trouble extends Error {
    constructor(text, more) {
      super(text);
      this.more = more || {};
    }
  }
  const gone = "loosedog does not answer any more; is it still running in its window?";

  const json = async (path) => {
    let answer;
    try {
      answer = await fetch(path);
    } catch {
      throw new Trouble(gone);
    }
    const body = await answer.json().catch(() => ({}));
    if (!answer.ok) throw new Trouble(body.error || "that did not work", body);
    return body;
  };

  // send uploads a WAV and tells how much of it is gone, 0 to 1.
  const send = (name, blob, { replace, signal, tell }) =>
    new Promise((done, failed) => {
      const x = new XMLHttpRequest();
      x.open("PUT", at(name) + (replace ? "?replace=1" : ""));
      x.setRequestHeader("Content-Type", "audio/wav");
      x.upload.addEventListener("progress", (e) => e.total && tell(e.loaded / e.total));
      x.addEventListener("load", () => {
        let body = {};
        try {
          body = JSON.parse(x.responseText);
        } catch {
          // said below
        }
        if (x.status === 201) done(body.name);
        else failed(new Trouble(body.error || "the recording could not be sent", body));
      });
      x.addEventListener("error", () => failed(new Trouble("the recording could not be sent whole; " + gone)));
      x.addEventListener("abort", () => failed(new DOMException("cancelled", "AbortError")));
      signal.addEventListener("abort", () => x.abort());
      x.send(blob);
    });

  // measure has a take measured and tells how far it is.
  const measure = async (name, what, { signal, tell }) => {
    let answer;
    try {
      answer = await fetch(at(name) + "/measure", {
        method: "POST", signal, headers: { "Content-Type": "application/json" }, body: JSON.stringify(what),
      });
    } catch (e) {
      if (e.name === "AbortError") throw e;
      throw new Trouble(gone);
    }
    if (!answer.ok) throw new Trouble((await answer.json().catch(() => ({}))).error || "the take could not be measured");
    const reader = answer.body.pipeThrough(new TextDecoderStream()).getReader();
    let rest = "";
    let ended = false;
    for (;;) {
      const { value, done } = await reader.read();
      if (done) break;
      rest += value;
      const lines = rest.split("\n");
      rest = lines.pop();
      for (const line of lines.filter(Boolean)) {
        const said = JSON.parse(line);
        if (said.error) throw new Trouble(said.error);
        if (said.name) ended = true;
        else tell(said.part, said.done);
      }
    }
    if (!ended) throw new Trouble("the measuring was broken off; nothing was kept");
  };

  const folder = () => json("/api/folder");
  const take = (name) => json(at(name));
  const clip = (name) => (pair) =>
    json(at(name) + "/sound?pair=" + pair.first + "&from=" + pair.from_s + "&to=" + Math.min(pair.to_s, pair.from_s + 2.9));
  const saved = (name, kind) => at(name) + "/save/" + kind;

  loosedog.ask = { Trouble, json, send, measure, folder, take, clip, saved };
})();
