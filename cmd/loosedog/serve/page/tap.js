"use strict";
// Runs beside the page while it records: hands the microphone's samples on as
// they are.
registerProcessor("tap", class extends AudioWorkletProcessor {
  process(inputs) {
    if (inputs[0].length > 0) this.port.postMessage(inputs[0][0].slice());
    return true;
  }
});
