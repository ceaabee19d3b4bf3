/** An open run: its record, its version of the drill, its splits and tracks, and the state of its debrief. */
import { api, ask } from '../api/client'
import { tellTrouble } from '../records/steps.svelte'
import { LiveRecord } from '../api/live.svelte'
import { deleteRecord, undelete } from '../api/records'
import type { Forms } from '../api/forms'
import type { SchemaDrillPart, SchemaGatheredTrack, SchemaStanding, SchemaTrackTold } from '../api/schema'
import { zoneOf } from '../debrief/zone'
import { say } from '../words'
import { notices } from '../app/notices.svelte'
import type { Row, RowKind } from './row.svelte'
import { Rows } from './rows.svelte'
import { Undos } from './undos.svelte'

export type GatheredTrack = SchemaGatheredTrack
type RunForm = Forms['runs']

export interface Named {
  id: string
  name: string
}
export interface Made {
  id: string
  created_utc: string
}

export class RunState {
  readonly undos = new Undos()
  readonly record: LiveRecord<'runs'>
  readonly splits: Rows<'splits'>
  readonly observations: Rows<'observations'>

  drill = $state.raw<SchemaDrillPart | null>(null)
  people = $state.raw<Named[]>([])
  private readingRest = false
  tracks = $state.raw<GatheredTrack[]>([])
  standing = $state.raw<SchemaStanding | null>(null)
  debriefs = $state.raw<Made[]>([])
  trouble = $state.raw<unknown>(null)
  ready = $state(false)

  private held = false
  private timer: ReturnType<typeof setTimeout> | undefined

  constructor(readonly id: string) {
    this.record = new LiveRecord('runs', id)
    this.splits = new Rows('splits', id, this.undos, () => this.touched())
    this.observations = new Rows('observations', id, this.undos, () => this.touched())
  }

  get form(): RunForm {
    return this.record.form
  }

  async load(): Promise<void> {
    this.trouble = null
    try {
      await this.record.load()
      if (this.record.state !== 'ready') return
      await Promise.all([
        this.loadDrill(),
        this.loadPeople(),
        this.splits.load(),
        this.observations.load(),
        this.loadTracks(),
        this.loadStanding(),
      ])
      this.ready = true
    } catch (error) {
      this.trouble = error
    }
  }

  /** Wait until nothing of the run is being sent to the service. */
  async settled(): Promise<void> {
    await Promise.all([this.record.settled(), this.splits.settled(), this.observations.settled()])
  }

  close(): void {
    clearTimeout(this.timer)
    this.record.close()
    this.splits.close()
    this.observations.close()
  }

  /** Change the run itself, as one undo step even if other records change in between. */
  change(label: string, edit: (draft: RunForm) => void, gesture: string | null = null): void {
    const before = this.record.form
    this.record.change(label, edit, gesture)
    if (this.record.form === before) return
    const { record } = this
    this.undos.note(
      label,
      () => {
        record.undo()
        this.touched()
      },
      () => {
        record.redo()
        this.touched()
      },
      gesture,
    )
    this.touched()
  }

  /** Nothing is sent while held; releasing ends the gesture. */
  hold(on: boolean): void {
    this.held = on
    this.record.hold(on)
    if (!on) this.touched()
  }

  /** Cancel a gesture: its changes are reverted and do not become a step. */
  abandon(gesture: string): void {
    this.held = false
    this.record.abandon(gesture)
    this.undos.forget(gesture)
  }

  /** The name of a searcher: that of the person, if known. */
  nameOf(searcher: string | null | undefined): string {
    if (!searcher) return ''
    const told = this.form.searchers?.find((one) => one.searcher === searcher)?.person_id
    const person = told ? this.people.find(({ id }) => id === told)?.name : undefined
    return person ?? this.drill?.searchers.find(({ id }) => id === searcher)?.name ?? searcher
  }

  /** The searchers of the drill, with the names of the people. */
  get searchers(): Named[] {
    return (this.drill?.searchers ?? []).map(({ id }) => ({ id, name: this.nameOf(id) }))
  }

  get burials(): string[] {
    return (this.form.as_buried ?? this.drill?.burials ?? []).map(({ id }) => id)
  }

  /** The time zone of the ground; undefined (the reader's own) if the ground has no map position. */
  get zone(): string | undefined {
    return zoneOf({ run: { zone: this.standing?.zone ?? null } })
  }

  /** The moment of the alarm, s since 1970, if a split gives it. */
  get alarm_unix_s(): number | null {
    const times = this.splits.rows.flatMap(({ form }) =>
      form.split === 'alarm' && typeof form.time_unix_s === 'number' ? [form.time_unix_s] : [],
    )
    return times.length ? Math.min(...times) : null
  }

  /** Delete a split or observation; the notice at the bottom of the page restores it. */
  async removeRow<K extends RowKind>(rows: Rows<K>, row: Row<K>, name: string): Promise<void> {
    try {
      await rows.remove(row)
      notices.say(say('run.removed', { name }), () => this.undos.undo())
    } catch (error) {
      tellTrouble(error)
    }
  }

  async loadTracks(): Promise<void> {
    this.tracks = await this.listTracks()
    void this.readRest()
  }

  private async listTracks(): Promise<GatheredTrack[]> {
    return ask(api.GET('/api/runs/{run_id}/tracks', { params: { path: { run_id: this.id } } }))
  }

  /** Tracks that arrived with many others are read by further lists, as long as their number decreases. */
  private async readRest(): Promise<void> {
    const left = (): number => this.tracks.filter(({ measured }) => !measured).length
    for (let before = Infinity; left() && left() < before && !this.readingRest; ) {
      before = left()
      this.readingRest = true
      const listed = await this.listTracks().catch(() => null)
      this.readingRest = false
      if (listed) this.tracks = listed
    }
  }

  async loadStanding(): Promise<void> {
    const path = { params: { path: { run_id: this.id } } }
    const query = { params: { query: { run_id: this.id, limit: 100 } } }
    const [standing, made] = await Promise.all([
      ask(api.GET('/api/runs/{run_id}/standing', path)),
      ask(api.GET('/api/debriefs', query)),
    ])
    this.standing = standing
    this.debriefs = made.items
  }

  async tell(track: GatheredTrack, told: Partial<SchemaTrackTold>, confirmed = false): Promise<void> {
    const before = toldOf(track)
    await this.write(track.id, { ...before, ...told }, confirmed)
    this.undos.note(
      say('run.undo.track', { file: track.file_name }),
      () => this.write(track.id, before, false),
      () => this.write(track.id, { ...before, ...told }, confirmed),
    )
  }

  private async write(id: string, told: SchemaTrackTold, confirmed: boolean): Promise<void> {
    const version = this.tracks.find((one) => one.id === id)?.version
    if (version === undefined) return
    try {
      await ask(
        api.PUT('/api/tracks/{record_id}', {
          params: { path: { record_id: id }, query: { confirmed }, header: { 'If-Match': `"${version}"` } },
          body: told,
        }),
      )
    } finally {
      await this.loadTracks()
      this.touched()
    }
  }

  async removeTrack(track: GatheredTrack): Promise<() => Promise<void>> {
    let deletion = await deleteRecord('tracks', track.id)
    await this.tracksChanged()
    const back = async (): Promise<void> => {
      await undelete(deletion)
      await this.tracksChanged()
    }
    const again = async (): Promise<void> => {
      deletion = await deleteRecord('tracks', track.id)
      await this.tracksChanged()
    }
    this.undos.note(say('run.undo.removedTrack', { file: track.file_name }), back, again)
    return () => this.undos.undo()
  }

  async tracksChanged(): Promise<void> {
    await this.loadTracks()
    this.touched()
  }

  /** Reload the state of the debrief once changes are saved. */
  touched(): void {
    clearTimeout(this.timer)
    if (!this.held) this.timer = setTimeout(() => void this.lookAgain(), 700)
  }

  private async lookAgain(): Promise<void> {
    if (this.record.state !== 'ready') return
    await this.record.settled()
    await this.loadStanding().catch(() => undefined)
  }

  private async loadDrill(): Promise<void> {
    const { drill_id, drill_version } = this.form
    const path = { drill_id, number: drill_version ?? 1 }
    const found: unknown = await ask(api.GET('/api/drills/{drill_id}/versions/{number}', { params: { path } }))
    this.drill = found as SchemaDrillPart
  }

  private async loadPeople(): Promise<void> {
    this.people = (await ask(api.GET('/api/people', { params: { query: { limit: 500 } } }))).items
  }
}

function toldOf({ searcher, parts, clock_shift_s }: GatheredTrack): SchemaTrackTold {
  return { searcher: searcher ?? null, parts: parts ?? [], clock_shift_s: clock_shift_s ?? null }
}
