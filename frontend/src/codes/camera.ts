/** The camera and the code reader (ZXing in WebAssembly), which is loaded only when the camera runs. */
import { prepareZXingModule, readBarcodes } from 'zxing-wasm/reader'

/** Why codes cannot be read here. */
export type Blind = 'http' | 'no camera' | 'not allowed' | 'in use' | 'no reader'

/** The reader's file beside this page. */
const READER = 'codes.wasm'
/** The most frames examined per second, so that the page stays responsive. */
const LOOKS_PER_S = 12

export class Camera {
  private stream: MediaStream | null = null
  private readonly canvas = document.createElement('canvas')
  private closed = false

  /** Show the camera in `video` and pass every text that is seen to `found`, repeatedly, until it is closed. */
  async open(video: HTMLVideoElement, found: (text: string) => void): Promise<Blind | null> {
    // Browsers allow no camera for a page over plain http, unless it comes from this machine.
    if (!isSecureContext || !('mediaDevices' in navigator)) return 'http'
    const [stream, ready] = await Promise.all([asked(), prepared()])
    if (typeof stream === 'string') return stream
    this.stream = stream
    if (!ready || this.closed) this.close()
    if (!ready) return 'no reader'
    if (this.closed) return null
    video.srcObject = stream
    await video.play().catch(() => null)
    void this.look(video, found)
    return null
  }

  close(): void {
    this.closed = true
    for (const track of this.stream?.getTracks() ?? []) track.stop()
    this.stream = null
  }

  private async look(video: HTMLVideoElement, found: (text: string) => void): Promise<void> {
    const drawing = this.canvas.getContext('2d', { willReadFrequently: true })
    while (!this.closed && drawing) {
      await new Promise((done) => setTimeout(done, 1000 / LOOKS_PER_S))
      const { videoWidth: width, videoHeight: height } = video
      if (this.closed || document.hidden || !width || !height) continue
      this.canvas.width = width
      this.canvas.height = height
      drawing.drawImage(video, 0, 0)
      const seen = await readBarcodes(drawing.getImageData(0, 0, width, height), { formats: ['QRCode'], tryHarder: true, maxNumberOfSymbols: 9 })
      for (const one of seen) if (one.isValid && !this.closed) found(one.text)
    }
  }
}

async function asked(): Promise<MediaStream | Blind> {
  try {
    return await navigator.mediaDevices.getUserMedia({ audio: false, video: { facingMode: 'environment', width: { ideal: 1920 }, height: { ideal: 1080 } } })
  } catch (why) {
    const name = why instanceof DOMException ? why.name : ''
    return name === 'NotAllowedError' ? 'not allowed' : name === 'NotReadableError' ? 'in use' : 'no camera'
  }
}

async function prepared(): Promise<boolean> {
  try {
    const answer = await fetch(READER)
    if (!answer.ok) return false
    await prepareZXingModule({ overrides: { wasmBinary: await answer.arrayBuffer() }, fireImmediately: true })
    return true
  } catch {
    return false
  }
}
