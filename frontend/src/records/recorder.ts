/** Record raw samples without compression, with echo, noise and gain processing off. */
import worklet from './pulse-worklet.js?url&no-inline'

export const LONGEST_S = 60

/** Whether this browser offers a microphone on this page; over plain http on a network it does not. */
export const canRecord = (): boolean => window.isSecureContext && 'mediaDevices' in navigator && 'AudioWorkletNode' in window

export interface Recorder {
  /** Whether the browser reports that its processing is off; null if unknown. */
  raw: boolean | null
  seconds: () => number
  /** Stop recording and return a WAV file. */
  stop: () => Promise<Blob>
}

export async function record(): Promise<Recorder> {
  const stream = await navigator.mediaDevices.getUserMedia({
    audio: { echoCancellation: false, noiseSuppression: false, autoGainControl: false, channelCount: 1 },
  })
  const context = new AudioContext()
  const parts: Float32Array[] = []
  let count = 0
  await context.audioWorklet.addModule(worklet)
  const tap = new AudioWorkletNode(context, 'tap')
  tap.port.onmessage = (event: MessageEvent<Float32Array>) => {
    if (count >= LONGEST_S * context.sampleRate) return
    parts.push(event.data)
    count += event.data.length
  }
  context.createMediaStreamSource(stream).connect(tap)
  const rate = context.sampleRate
  return {
    raw: processingOff(stream.getAudioTracks()[0]?.getSettings() ?? {}),
    seconds: () => count / rate,
    stop: async () => {
      for (const track of stream.getTracks()) track.stop()
      await context.close()
      return wav(parts, rate)
    },
  }
}

function processingOff(settings: MediaTrackSettings): boolean | null {
  const told = [settings.echoCancellation, settings.noiseSuppression, settings.autoGainControl]
  if (told.every((one) => one === undefined)) return null
  return told.every((one) => !one)
}

/** A WAV file with one channel of 32-bit floating point, so that no sample is changed. */
export function wav(parts: readonly Float32Array[], rate: number): Blob {
  const bytes = 4 * parts.reduce((sum, part) => sum + part.length, 0)
  const head = new DataView(new ArrayBuffer(44))
  const text = (at: number, words: string): void => [...words].forEach((letter, i) => head.setUint8(at + i, letter.charCodeAt(0)))
  text(0, 'RIFF')
  head.setUint32(4, 36 + bytes, true)
  text(8, 'WAVEfmt ')
  head.setUint32(16, 16, true)
  head.setUint16(20, 3, true)
  head.setUint16(22, 1, true)
  head.setUint32(24, rate, true)
  head.setUint32(28, 4 * rate, true)
  head.setUint16(32, 4, true)
  head.setUint16(34, 32, true)
  text(36, 'data')
  head.setUint32(40, bytes, true)
  return new Blob([head.buffer, ...parts.map((part) => part.slice().buffer)], { type: 'audio/wav' })
}
