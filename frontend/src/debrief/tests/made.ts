/** A debrief with only its ground, and parts for it, so that tests name only what they change. */
import type { Burial, DebriefDocument, Phase, Searcher } from '../document'

const nothing: DebriefDocument = {
  format: 'coldfield-debrief/1',
  made_by: '',
  model_version: null,
  title: '',
  simulated: false,
  run: {
    alarm_utc: null,
    time_zero: '',
    zero_utc: null,
    end_s: 0,
    strip_width_m: null,
    zone: null,
    alarm_from: null,
    splits_shift_s: 0,
    splits_shift_from: null,
    splits_shift_uncertainty_s: null,
    splits_clock_checked: true,
    notes: [],
    files: [],
  },
  alignment: null,
  site: {
    boundary_m: [[0, 0], [10, 0], [10, 10]],
    holes_m: [],
    entry_m: null,
    last_seen_m: null,
    anchors: [],
    slope_deg: 0,
    aspect_deg: 0,
    declination_deg: null,
    contours: [],
  },
  burials: [],
  searchers: [],
  digs: [],
  nobodys_phases: [],
  unknown_phases: [],
  lanes: [],
  lanes_walked: [],
  hearing: null,
  flux_lines: [],
  swept: null,
  swept_fraction: null,
  swept_fraction_uncertainty: null,
  overlap_fraction: null,
  swept_by: [],
  gaps: [],
  order: null,
  bands: [],
  standards: [],
  earlier: [],
  survival: null,
  splits: [],
  findings: [],
  observed: [],
  cautions: [],
}

export function made(part: Partial<DebriefDocument>): DebriefDocument {
  return { ...nothing, ...part }
}

export function madePhase(part: Partial<Phase> & Pick<Phase, 'phase' | 'start_s' | 'end_s'>): Phase {
  return {
    burial: null,
    border_uncertainty_s: null,
    length_m: null,
    speed_m_s: null,
    flux_line_ratio: null,
    ...part,
  }
}

export function madeSearcher(part: Partial<Searcher> & Pick<Searcher, 'id'>): Searcher {
  return { name: '', track: null, readings: [], audible: [], phases: [], approaches: [], idle: [], ...part }
}

export function madeBurial(part: Partial<Burial> & Pick<Burial, 'id'>): Burial {
  return {
    position_m: [1, 1],
    depth_m: null,
    azimuth_deg: null,
    tilt_deg: null,
    has_set: true,
    outline: '',
    struck_s: null,
    clear_s: null,
    found_by: null,
    ...part,
  }
}
