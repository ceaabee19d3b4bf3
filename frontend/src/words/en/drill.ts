/** The Drill page: its frame, its plan, what all its parts share. */
export const drill = {
  'drill.name': 'Name of the drill',
  'drill.parts': 'Parts of the drill',
  'drill.next': 'Next: {title}',
  'drill.plan':
    'Plan of the drill. Arrow keys move the sheet, plus and minus zoom, 0 shows all of it. Tab goes to what lies on it; arrow keys move that.',
  'drill.put': 'Put at {east} m east, {north} m north.',
  'drill.nowAt': '{what}: now {east} m east, {north} m north.',
  'drill.pick': 'Point at a place on the plan for what is known there.',
  'drill.at': '{east} {ew}, {north} {ns} of the origin',
  'drill.leaveTool': 'Leave it',
  'drill.takeBack': 'Take back the last',
  'drill.rename': 'another name',
  'fault.place': 'place',
  'drill.between': 'A number from {low} to {high}.',
} as const
