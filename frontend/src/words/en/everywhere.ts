/** What both the app and the clock on the phone have round their pages. */
export const everywhere = {
  'app.language': 'Language',
  'app.toDark': 'Dark',
  'app.toLight': 'Light',
  'app.practice': 'For training and planning. In a real accident call the rescue service and use your training, not this.',
  'state.loading': 'Loading ...',
  'undo.undo': 'Undo',
  'run.add': 'Add',
} as const
