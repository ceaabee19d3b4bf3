// Passes the raw samples of the microphone on.
/* global AudioWorkletProcessor, registerProcessor */
class Tap extends AudioWorkletProcessor {
  process(inputs) {
    const samples = inputs[0]?.[0]
    if (samples) this.port.postMessage(samples.slice())
    return true
  }
}
registerProcessor('tap', Tap)
