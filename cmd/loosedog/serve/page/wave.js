"use strict";
// Sound as a WAV file: 24 bits, so that nothing of a quiet click is lost.
(() => {
  const blockFrames = 1 << 16;

  // wave makes the file of channels, each a list of blocks of samples. Samples
  // beyond full scale, which decoders make of loud lossy sound, bring the whole
  // down: cut off they would look like a recording that was too loud.
  const wave = (channels, rate) => {
    const frames = channels[0].reduce((n, b) => n + b.length, 0);
    let peak = 1;
    for (const c of channels) for (const b of c) for (let i = 0; i < b.length; i++) peak = Math.max(peak, Math.abs(b[i]));
    const full = 8388607 / peak;
    const each = 3 * channels.length;
    const head = new DataView(new ArrayBuffer(44));
    const word = (at, s) => [...s].forEach((ch, i) => head.setUint8(at + i, ch.charCodeAt(0)));
    const size = frames * each;
    const pad = size % 2;
    word(0, "RIFF");
    head.setUint32(4, 36 + size + pad, true);
    word(8, "WAVEfmt ");
    head.setUint32(16, 16, true);
    head.setUint16(20, 1, true);
    head.setUint16(22, channels.length, true);
    head.setUint32(24, rate, true);
    head.setUint32(28, rate * each, true);
    head.setUint16(32, each, true);
    head.setUint16(34, 24, true);
    word(36, "data");
    head.setUint32(40, size, true);
    const parts = [head.buffer];
    channels[0].forEach((first, k) => {
      for (let from = 0; from < first.length; from += blockFrames) {
        const to = Math.min(first.length, from + blockFrames);
        const out = new Uint8Array((to - from) * each);
        let at = 0;
        for (let i = from; i < to; i++) {
          for (const c of channels) {
            const v = Math.round(c[k][i] * full) | 0;
            out[at++] = v & 255;
            out[at++] = (v >> 8) & 255;
            out[at++] = (v >> 16) & 255;
          }
        }
        parts.push(out);
      }
    });
    if (pad) parts.push(new Uint8Array(1));
    return new Blob(parts, { type: "audio/wav" });
  };

  loosedog.wave = wave;
})();
