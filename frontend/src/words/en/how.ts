/** How the figures of a debrief were found, and how far they are known: said on demand. */
export const how = {
  'why.title': 'Where this comes from',

  'how.findings':
    'Method: minutes are what a phase took beyond the middle rehearsal of this drill, what a walk took beyond the flux line at the same speed, what a turn took beyond 5 s, twice the time walked the wrong way, or the time many stood at one burial. They overlap; they cannot be added up.',
  'how.findingsDoubt':
    'Held back: whatever does not exceed its doubt from places, clocks and splits. Clear: more than twice its doubt; likely: less. In trials with known truth 3 of 218 findings were contradicted (1.4 %, interval 0 to 4 %).',
  'how.phases':
    'Method: signal search until the walk follows the direction, coarse search until the reading is 3 m, both from the track and the field worked out there; fine search, probing and digging from the splits. Speed is without standing.',
  'how.phasesDoubt': '± is meant to hold nineteen times of twenty; it comes from the position accuracy, the clock of the splits and the way people turn.',
  'how.phasesSplits':
    'Method: from the splits alone. Signal search ends with the first signal; coarse search after the reading of 10 m, when people usually read 3 m; fine search with the lowest reading; probing with the strike; digging with the free airway. A split that names nobody counts as that of whoever else is named at the burial.',
  'how.phasesSplitsDoubt': '± holds the walk from 10 m to 3 m by novices and experts alike, and 5 s from the first signal to the turn: settings. A split is as exact as somebody pressed.',
  'how.ratio': 'The flux line is the shorter of the two ways along the direction from where the person turned, on the snow. Below 1.15, or within the side distance the track is unsure by, nothing is made of it.',
  'how.approach':
    'Method: the field of the set where it lay, at each second of the track, against this person’s receiver held level at carry height. Could be heard: the first second above the threshold. Off the flux line: the farthest between walk and line.',
  'how.approachDoubt': '± is meant to hold nineteen times of twenty. A hand that turns the set, wet ground and other sets sending are left out.',
  'how.tracks':
    'Method: repeats and jumps are left out and counted, the rest is smoothed. Length is on the snow with standing taken out; as recorded is the line through all points in plan, which wanders when somebody stands.',
  'how.accuracy':
    'Position accuracy: the standard error of a place on each axis, from the scatter the track shows and a slow drift of 3 m. Smoothing does not lower it; standing 30 s at an anchor before and after does. A setting, after what satellite receivers usually do.',
  'how.heard':
    'Method: seconds in which the field at the person’s place, held level at carry height, reaches the threshold of their receiver today; each set by itself.',
  'how.heardDoubt': 'Uncertain at the edge of hearing: a place that is 5 m out is some seconds there. Ground and snow are left out.',
  'how.swept':
    'Method: ground within half a strip of where somebody walked in signal search, on the snow. Coarse search and digging do not count. Counted in squares of 1 m.',
  'how.gaps': 'A gap is told as wider where it is broader than two tracks are unsure against each other; as a finding only where nearly every way the tracks may lie leaves it.',
  'how.burials': 'Depth and antenna as they were dug out, where that was entered, else as planned. Times are those of the splits, as well as somebody pressed.',
  'how.bands':
    'Method: this drill, as it was buried, rehearsed many times in the computer with this group’s receivers and skills; the number of rehearsals stands in the notes. Speeds and times of a skill are settings, not measurements.',
  'how.yardsticks': 'Rows of one phase share a scale. A standard or an earlier run is taken as it was entered or recorded.',
} as const
