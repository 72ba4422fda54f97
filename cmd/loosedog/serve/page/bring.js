"use strict";
// A recording on its way in: read, decoded where it is no WAV, sent, measured;
// with a bar that says how far it is, and a way out at every step.
(() => {
  const { draw, words, ask, rate, wave } = loosedog;
  const { make } = draw;
  const mostFile = 300 * 1024 * 1024; // of what has to be decoded here

  const isWave = (head) => {
    const s = String.fromCharCode(...head);
    return /^(RIFF|RF64|BW64)/.test(s) && s.slice(8) === "WAVE";
  };

  // decode makes a WAV of a file in any format that the browser knows, at the
  // file's own rate.
  const decode = async (file) => {
    if (file.size > mostFile) throw new ask.Trouble("the file is too long to be decoded here; save it as WAV and choose that");
    const raw = await file.arrayBuffer();
    const own = rate.rateOf(raw) || 48000;
    let context;
    try {
      context = new OfflineAudioContext(1, 1, own);
    } catch {
      context = new OfflineAudioContext(1, 1, 48000);
    }
    let sound;
    try {
      sound = await context.decodeAudioData(raw);
    } catch {
      throw new ask.Trouble("the browser cannot read this file; is it a sound recording? WAV and m4a can be read everywhere");
    }
    const channels = [];
    for (let c = 0; c < Math.min(2, sound.numberOfChannels); c++) channels.push([sound.getChannelData(c)]);
    return wave(channels, sound.sampleRate);
  };

  // work is the part of the page that says what is going on. run(job) is given
  // say(text, share), question(text, answers) and a signal that cancel ends.
  const work = async (title, run) => {
    const box = document.getElementById("work");
    const said = make("p", { role: "status", class: "said" });
    const bar = make("progress", { max: "1", "aria-label": "How far it is" });
    const choices = make("div", { class: "choices" });
    const stop = new AbortController();
    const cancel = make("button", { type: "button", class: "do", text: "Cancel", onclick: () => stop.abort() });
    box.replaceChildren(make("h2", { text: title }), said, bar, choices, cancel);
    box.hidden = false;
    const close = () => {
      box.hidden = true;
      box.replaceChildren();
    };
    const job = {
      signal: stop.signal,
      say: (text, share) => {
        if (said.textContent !== text) said.textContent = text;
        bar.hidden = false;
        if (share === null || share === undefined) bar.removeAttribute("value");
        else bar.value = share;
      },
      question: (text, answers) =>
        new Promise((done, failed) => {
          said.textContent = text;
          bar.hidden = true;
          choices.replaceChildren(...answers.map(([label, value]) => make("button", {
            type: "button", class: "do", text: label,
            onclick: () => {
              choices.replaceChildren();
              done(value);
            },
          })));
          choices.firstChild.focus();
          stop.signal.addEventListener("abort", () => failed(new DOMException("cancelled", "AbortError")));
        }),
    };
    try {
      const result = await run(job);
      close();
      return result;
    } catch (e) {
      if (e.name === "AbortError") {
        close();
        return undefined;
      }
      said.textContent = words.sentence(e.message);
      said.classList.add("wrong");
      bar.hidden = true;
      choices.replaceChildren();
      cancel.textContent = "Close";
      cancel.addEventListener("click", close);
      cancel.focus();
      return undefined;
    }
  };

  const parts = { waiting: "Waiting for another take to be measured", reading: "Reading the take", listening: "Listening for strikes and landings" };

  const measured = async (job, name, what) => {
    await ask.measure(name, what, { signal: job.signal, tell: (part, share) => job.say((parts[part] || part) + " …", part === "waiting" ? null : share) });
    return name;
  };

  // sent uploads, and asks where a take of that name is there already.
  const sent = async (job, name, blob) => {
    let replace = false;
    for (;;) {
      try {
        return await ask.send(name, blob, { replace, signal: job.signal, tell: (share) => job.say("Copying the recording into the folder …", share) });
      } catch (e) {
        if (!(e instanceof ask.Trouble) || !e.more.taken) throw e;
        const answer = await job.question("There is a take called \u201c" + e.more.taken + "\u201d already.", [
          ["Keep both: this one as \u201c" + e.more.free + "\u201d", "both"], ["Replace the old one", "replace"],
        ]);
        if (answer === "both") name = e.more.free;
        else replace = true;
      }
    }
  };

  // bring takes a file in and shows what was measured.
  const bring = async (file, what) => {
    const name = await work("Bringing in \u201c" + file.name + "\u201d", async (job) => {
      job.say("Reading the file …", null);
      const head = new Uint8Array(await file.slice(0, 12).arrayBuffer());
      let in_;
      if (isWave(head)) {
        try {
          in_ = await sent(job, file.name, file);
        } catch (e) {
          if (!(e instanceof ask.Trouble) || !/cannot be read/.test(e.message)) throw e;
        }
      }
      if (!in_) {
        job.say("Decoding the recording …", null);
        in_ = await sent(job, file.name.replace(/\.[^.]*$/, "") + ".wav", await decode(file));
      }
      return measured(job, in_, what);
    });
    if (name) loosedog.go("take", name);
  };

  const again = async (name, what) => {
    const done = await work("Measuring \u201c" + name + "\u201d", (job) => measured(job, name, what));
    return Boolean(done);
  };

  // recorded takes in what was recorded on this page.
  const recorded = async (name, blob, what) => {
    const got = await work("Keeping the recording", async (job) => measured(job, await sent(job, name, blob), what));
    if (got) loosedog.go("take", got);
    return Boolean(got);
  };

  loosedog.bring = { bring, again, recorded };
})();
