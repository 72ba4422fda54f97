"use strict";
// Sound: out of the page's own clips, or asked for; played at any speed.
(() => {
  const bytes = (base64) => {
    const raw = atob(base64);
    const out = new Uint8Array(raw.length);
    for (let i = 0; i < raw.length; i++) out[i] = raw.charCodeAt(i);
    return out;
  };

  // clip is a stretch of sound: the time of its first sample in the take, its
  // rate, and samples between -1 and 1.
  const clip = (raw) => {
    const b = bytes(raw.pcm);
    const view = new DataView(b.buffer);
    const samples = new Float32Array(b.length >> 1);
    for (let i = 0; i < samples.length; i++) samples[i] = view.getInt16(2 * i, true) / 32768;
    return { start: raw.start_s, rate: raw.rate_hz, samples };
  };

  // peaks is the take's outline: values 0 to 1, perS of them a second.
  const peaks = (raw) => {
    if (!raw) return null;
    const b = bytes(raw.values);
    return { perS: raw.per_s, at: (i) => (i >= 0 && i < b.length ? b[i] / 255 : 0), length: b.length };
  };

  let context = null;
  let playing = null;

  // play sounds a clip at a speed and tells, while it sounds, where in the take
  // it is; a clip that still sounds is cut off. The promise ends with the sound.
  const play = async (what, rate, tell) => {
    stop();
    context = context || new AudioContext();
    if (context.state === "suspended") await context.resume();
    const buffer = context.createBuffer(1, what.samples.length, what.rate);
    buffer.copyToChannel(what.samples, 0);
    const node = context.createBufferSource();
    node.buffer = buffer;
    node.playbackRate.value = rate;
    node.connect(context.destination);
    const begun = context.currentTime;
    const mine = { node };
    playing = mine;
    const step = () => {
      if (playing !== mine) return;
      tell(what.start + (context.currentTime - begun) * rate);
      requestAnimationFrame(step);
    };
    return new Promise((done) => {
      node.addEventListener("ended", () => {
        if (playing === mine) playing = null;
        tell(null);
        done();
      });
      node.start();
      step();
    });
  };

  const stop = () => {
    if (playing) {
      const { node } = playing;
      playing = null;
      node.stop();
    }
  };

  // store hands out the clips of a page: those inside it, else what fetch gets.
  const store = (page, fetch) => {
    const kept = new Map();
    for (const raw of page.sound ? page.sound.clips : []) kept.set(raw.pair, Promise.resolve(clip(raw)));
    return async (pair) => {
      if (!kept.has(pair.first)) {
        if (!fetch || !loosedog.words.known(pair.from_s)) return null;
        const got = fetch(pair).then(clip);
        got.catch(() => kept.delete(pair.first));
        kept.set(pair.first, got);
        if (kept.size > 60 && !page.sound) kept.delete(kept.keys().next().value);
      }
      return kept.get(pair.first);
    };
  };

  loosedog.sound = { peaks, play, stop, store };
})();
