/** Upload dropped track files, one after another. */
import { Problem, Unreachable } from '../api/client'
import type { FollowedJob } from '../api/jobs.svelte'
import { linesOf } from '../api/lines'
import type { SchemaDroppedTracks } from '../api/schema'
import { say, type Said } from '../words'
import { send } from './upload'

export const MOST_BYTES = 64_000_000

export interface Upload {
  name: string
  bytes: number
  state: 'waiting' | 'sending' | 'reading' | 'done' | 'failed' | 'stopped'
  share: number
  faults: readonly Said[]
  /** The job of reading the file. */
  job: FollowedJob | null
}

export class Uploads {
  list = $state<Upload[]>([])
  private stopNow: (() => void) | null = null
  private queue: { file: File; upload: Upload }[] = []
  private busy = false

  constructor(
    private readonly runId: string,
    private readonly changed: () => Promise<void>,
  ) {}

  get working(): boolean {
    return this.list.some(({ state }) => state === 'waiting' || state === 'sending' || state === 'reading')
  }

  add(files: readonly File[]): void {
    this.list = this.list.filter(({ state }) => state !== 'done')
    for (const file of files) {
      this.list.push({ name: file.name, bytes: file.size, state: 'waiting', share: 0, faults: [], job: null })
      const upload = this.list[this.list.length - 1]
      if (!upload) continue
      if (file.size > MOST_BYTES) Object.assign(upload, { state: 'failed', faults: [say('run.tracks.large', { file: file.name })] })
      else if (!file.size) Object.assign(upload, { state: 'failed', faults: [say('run.tracks.empty', { file: file.name })] })
      else this.queue.push({ file, upload })
    }
    void this.work()
  }

  stop(): void {
    for (const { upload } of this.queue) upload.state = 'stopped'
    this.queue = []
    this.stopNow?.()
  }

  clear(): void {
    this.list = this.list.filter(({ state }) => state === 'waiting' || state === 'sending' || state === 'reading')
  }

  private async work(): Promise<void> {
    if (this.busy) return
    this.busy = true
    for (let next = this.queue.shift(); next; next = this.queue.shift()) {
      await this.one(next.file, next.upload)
      await this.changed().catch(() => undefined)
    }
    this.busy = false
  }

  private async one(file: File, upload: Upload): Promise<void> {
    const address = `/api/runs/${encodeURIComponent(this.runId)}/tracks?file_name=${encodeURIComponent(file.name.slice(-255))}`
    upload.state = 'sending'
    const sending = send<SchemaDroppedTracks>(
      address,
      file,
      (share) => {
        upload.share = share
        upload.state = share < 1 ? 'sending' : 'reading'
      },
      (job) => {
        upload.job = job
        if (job) upload.state = 'reading'
      },
    )
    this.stopNow = sending.stop
    try {
      upload.faults = (await sending.answer).faults
      upload.state = 'done'
    } catch (error) {
      upload.state = error instanceof DOMException ? 'stopped' : 'failed'
      if (error instanceof Problem) upload.faults = linesOf(error)
      else if (error instanceof Unreachable) upload.faults = [say('run.tracks.notSent', { file: file.name })]
    }
    this.stopNow = null
  }
}
