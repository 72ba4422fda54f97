"use strict";
// At which rate a file was recorded, read from its first bytes: what the browser
// decodes it at otherwise is the sound card's, and resampling smears clicks.
(() => {
  const text = (v, at, n) => {
    let s = "";
    for (let i = at; i < Math.min(at + n, v.byteLength); i++) s += String.fromCharCode(v.getUint8(i));
    return s;
  };

  // boxes walks the boxes of an MP4 file (ISO/IEC 14496-12) and finds the sound's
  // sample entry, which holds the rate as a 16.16 number.
  const sounds = ["mp4a", "Opus", "alac", "fLaC", "ac-3", "ec-3", "samr", "sowt", "twos", "lpcm", "in24", "fl32"];
  const mp4 = (v, from, to, depth) => {
    const into = ["moov", "trak", "mdia", "minf", "stbl"];
    for (let at = from; at + 8 <= to; ) {
      let size = v.getUint32(at);
      let head = 8;
      const kind = text(v, at + 4, 4);
      if (size === 1 && at + 16 <= to) {
        size = v.getUint32(at + 8) * 4294967296 + v.getUint32(at + 12);
        head = 16;
      }
      if (size === 0) size = to - at;
      if (size < head || at + size > to) return null;
      if (kind === "stsd" && at + head + 8 + 36 <= to) {
        const entry = at + head + 8;
        const rate = v.getUint32(entry + 32) / 65536;
        if (rate > 0 && sounds.includes(text(v, entry + 4, 4))) return rate;
      }
      if (into.includes(kind) && depth < 8) {
        const found = mp4(v, at + head, at + size, depth + 1);
        if (found) return found;
      }
      at += size;
    }
    return null;
  };

  // mp3 finds the first frame (ISO/IEC 11172-3, 13818-3) after an ID3 tag.
  const mp3 = (v) => {
    let at = 0;
    if (text(v, 0, 3) === "ID3" && v.byteLength > 10) {
      at = 10 + [6, 7, 8, 9].reduce((n, i) => n * 128 + (v.getUint8(i) & 127), 0);
    }
    const rates = [44100, 48000, 32000];
    for (const last = Math.min(at + 65536, v.byteLength - 4); at < last; at++) {
      if (v.getUint8(at) !== 255 || (v.getUint8(at + 1) & 224) !== 224) continue;
      const version = (v.getUint8(at + 1) >> 3) & 3;
      const layer = (v.getUint8(at + 1) >> 1) & 3;
      const which = (v.getUint8(at + 2) >> 2) & 3;
      if (version === 1 || layer === 0 || which === 3) continue;
      return rates[which] / (version === 3 ? 1 : version === 2 ? 2 : 4);
    }
    return null;
  };

  // aac is a raw AAC stream in ADTS frames (ISO/IEC 13818-7).
  const aac = (v) => {
    const rates = [96000, 88200, 64000, 48000, 44100, 32000, 24000, 22050, 16000, 12000, 11025, 8000, 7350];
    return rates[(v.getUint8(2) >> 2) & 15] || null;
  };

  // rateOf is the file's own rate in Hz, null where it is not known.
  const rateOf = (buffer) => {
    const v = new DataView(buffer);
    if (v.byteLength < 64) return null;
    const first = text(v, 0, 4);
    if (first === "RIFF" || first === "RF64") {
      const fmt = text(v, 0, 4096).indexOf("fmt ");
      return fmt > 0 && fmt + 16 <= v.byteLength ? v.getUint32(fmt + 12, true) : null;
    }
    if (text(v, 4, 4) === "ftyp") return mp4(v, 0, v.byteLength, 0);
    if (first === "fLaC") return (v.getUint8(18) << 12) | (v.getUint8(19) << 4) | (v.getUint8(20) >> 4);
    if (first === "OggS") {
      const head = text(v, 0, 256);
      const vorbis = head.indexOf("\u0001vorbis");
      if (vorbis > 0) return v.getUint32(vorbis + 12, true);
      return head.includes("OpusHead") ? 48000 : null;
    }
    if (v.getUint32(0) === 0x1a45dfa3) return 48000; // WebM: Opus as a rule
    if (v.getUint8(0) === 255 && (v.getUint8(1) & 246) === 240) return aac(v);
    return mp3(v);
  };

  loosedog.rate = { rateOf };
})();
