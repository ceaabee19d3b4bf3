import { isVerbatim, type Message, sayMessage } from '../words'

/** Whether a note is about one of the run's files: its place, or its first words, is the file's name. */
export function ofFile(note: Message, files: readonly string[]): boolean {
  if (isVerbatim(note)) return files.some((file) => sayMessage(note).startsWith(`${file}: `))
  const [place] = note.place ?? []
  return typeof place === 'string' && files.includes(place)
}
