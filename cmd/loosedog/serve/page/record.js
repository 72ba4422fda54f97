"use strict";
// Recording on the page: the microphone as it is, without the helpers that cut
// small clicks away, a level to watch, and the test sheet to type from.
(() => {
  const { draw, words, ask, bring, wave } = loosedog;
  const { make } = draw;
  const loud = 0.985; // as good as full
  const helpers = { echoCancellation: "echo cancelling", noiseSuppression: "noise suppression", autoGainControl: "automatic gain" };

  // dB of a magnitude, -60 at least.
  const decibel = (x) => Math.max(-60, 20 * Math.log10(Math.max(x, 1e-6)));

  // open starts the microphone; hear(block) gets its samples.
  const open = async (hear) => {
    if (!navigator.mediaDevices) {
      throw new ask.Trouble("the browser lends the microphone only to pages of this computer itself; open this page there, or record with the phone and bring the file");
    }
    let stream;
    try {
      stream = await navigator.mediaDevices.getUserMedia({
        audio: { echoCancellation: false, noiseSuppression: false, autoGainControl: false, channelCount: { ideal: 1 } },
      });
    } catch (e) {
      throw new ask.Trouble(e.name === "NotFoundError" ? "no microphone was found; plug one in, or record with the phone and bring the file" :
        "the browser was not allowed to use the microphone; allow it beside the address, or record with the phone and bring the file");
    }
    const track = stream.getAudioTracks()[0];
    const settings = track.getSettings();
    const context = new AudioContext(settings.sampleRate ? { sampleRate: settings.sampleRate } : {});
    await context.audioWorklet.addModule("/page/tap.js");
    const tap = new AudioWorkletNode(context, "tap", { numberOfOutputs: 0 });
    tap.port.onmessage = (e) => hear(e.data);
    const source = context.createMediaStreamSource(stream);
    source.connect(tap);
    const on = Object.keys(helpers).filter((h) => settings[h] === true).map((h) => helpers[h]);
    return {
      rate: context.sampleRate, on, track,
      close: async () => {
        source.disconnect();
        track.stop();
        await context.close();
      },
    };
  };

  // stamp is a name for a new recording.
  const stamp = () => {
    const d = new Date();
    const two = (n) => String(n).padStart(2, "0");
    return "take " + d.getFullYear() + "-" + two(d.getMonth() + 1) + "-" + two(d.getDate()) + " " + two(d.getHours()) + "." + two(d.getMinutes());
  };

  // view is the part of the page that records. sheet is the text to type, what()
  // says what is known of the machine.
  const view = (root, sheet, most, what) => {
    let mic = null;
    let blocks = null;
    let frames = 0;
    let peak = 0;
    let held = 0;
    let cut = 0;
    let timer = 0;

    const bar = make("div", { class: "level-bar" });
    const meter = make("div", { class: "level", role: "meter", "aria-label": "Level", "aria-valuemin": "-60", "aria-valuemax": "0", "aria-valuenow": "-60", "aria-valuetext": "no sound yet" }, bar);
    const light = make("p", { class: "light", text: "\u25cb level: the microphone is off" });
    const time = make("p", { class: "time", text: "0.0 s" });
    const state = make("p", { role: "status" });
    const warn = make("p", { class: "caution" });
    warn.hidden = true;
    const name = make("input", { type: "text", id: "record-name", maxlength: "100", value: stamp(), autocomplete: "off" });
    const start = make("button", { type: "button", class: "do first", text: "Record" });
    const stop = make("button", { type: "button", class: "do first", text: "Stop and measure" });
    const drop = make("button", { type: "button", class: "do", text: "Throw it away" });

    const show = (recording) => {
      start.hidden = recording;
      stop.hidden = drop.hidden = !recording;
    };
    const hear = (block) => {
      for (let i = 0; i < block.length; i++) {
        const a = Math.abs(block[i]);
        if (a > peak) peak = a;
        if (a >= loud) cut++;
      }
      if (!blocks) return;
      blocks.push(block);
      frames += block.length;
      if (mic && frames / mic.rate > most) finish();
    };
    const draw_ = () => {
      held = Math.max(peak, held * 0.86);
      peak = 0;
      const db = decibel(held);
      bar.style.transform = "scaleX(" + (db + 60) / 60 + ")";
      meter.setAttribute("aria-valuenow", String(Math.round(db)));
      meter.setAttribute("aria-valuetext", Math.round(db) + " decibels under full");
      meter.classList.toggle("clipped", cut > 0);
      light.classList.toggle("on", cut > 0);
      light.textContent = cut > 0 ? "\u25cf clipped: too loud, turn the level down or move the microphone away" :
        db < -45 ? "\u25cb level: very quiet" : "\u25cb level: not clipped";
      if (blocks && mic) time.textContent = words.clock(frames / mic.rate);
    };
    const close = async () => {
      clearInterval(timer);
      const m = mic;
      mic = null;
      if (m) await m.close();
    };
    const begin = async () => {
      start.disabled = true;
      try {
        mic = await open(hear);
        mic.track.addEventListener("ended", () => mic && finish());
        warn.hidden = mic.on.length === 0;
        warn.textContent = "This microphone keeps its " + mic.on.join(" and ") + " on, whatever is asked of it. It cuts away small clicks: switch it off in the system\u2019s sound settings, or record with the phone.";
        blocks = [];
        frames = cut = 0;
        timer = setInterval(draw_, 80);
        state.textContent = "Recording at " + mic.rate / 1000 + " kHz. Keep quiet for two seconds, then type the sheet.";
        show(true);
        stop.focus();
      } catch (e) {
        state.textContent = words.sentence(e.message);
      } finally {
        start.disabled = false;
      }
    };
    const finish = async () => {
      const got = blocks;
      const rate = mic ? mic.rate : 48000;
      blocks = null;
      await close();
      show(false);
      if (!got || got.length === 0) return;
      state.textContent = "Recorded: " + words.clock(frames / rate) + ".";
      const keep = () => bring.recorded((name.value.trim() || stamp()) + ".wav", wave([got], rate), what());
      if (!(await keep())) {
        // Not lost because somebody cancelled: offer it again.
        const save = make("button", { type: "button", class: "do", text: "Keep it after all" });
        save.addEventListener("click", async () => {
          if (await keep()) save.remove();
        });
        state.append(" ", save);
      }
    };
    start.addEventListener("click", begin);
    stop.addEventListener("click", finish);
    drop.addEventListener("click", async () => {
      blocks = null;
      await close();
      show(false);
      state.textContent = "Thrown away.";
    });
    show(false);
    root.replaceChildren(...[
      make("h1", { text: "Record a take" }),
      make("div", { class: "sheet recorder" }, [
        make("p", { text: "Lay the microphone on the machine\u2019s top cover, on a folded cloth, or close behind it. Nobody speaks, no music, no fan." }),
        make("p", {}, [make("label", { for: "record-name", text: "Name " }), name]),
        make("div", { class: "choices" }, [start, stop, drop, time]),
        meter, light, state, warn,
      ]),
      sheet ? make("section", { class: "type-this" }, [make("h2", { text: "Type this" }), make("pre", { class: "passage", tabindex: "0", text: sheet })]) : null,
    ].filter(Boolean));
    // Leaving the page of the recorder lets the microphone go.
    return close;
  };

  loosedog.record = { view };
})();
