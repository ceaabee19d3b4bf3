/** Whether a note begins with the name of one of the run's files, which is not written otherwise. */
export function ofFile(note: string, files: readonly string[]): boolean {
  return files.some((file) => note.startsWith(`${file}: `))
}
