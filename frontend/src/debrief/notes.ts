import { isVerbatim, type Message, sayMessage } from '../words'

/** Whether a note is about one of the run's files, which is not written otherwise: its place, or its first words. */
export function ofFile(note: Message, files: readonly string[]): boolean {
  if (isVerbatim(note)) return files.some((file) => sayMessage(note).startsWith(`${file}: `))
  const [place] = note.place ?? []
  return typeof place === 'string' && files.includes(place)
}
