/** What the open page is about, in the title of its window: 'Two in the lower bowl · Drills · Coldfield'. */
class Title {
  /** The name of the record that is open; '' where none is. */
  record = $state('')
}

export const title = new Title()

/** Let a record's name stand in the title while its page is open: call it in an effect and return what it returns. */
export function titled(name: string): () => void {
  title.record = name
  return () => {
    if (title.record === name) title.record = ''
  }
}
