/** What the service says about widths, lanes and rehearsals. */
export const strips = [

  ['the wanted probability must be above 0 and at most {n}', 'die gewünschte Chance muss über 0 und höchstens {n} sein'],

  ['digging', 'Ausgraben'],
  ['survival', 'Überleben'],

] as const
