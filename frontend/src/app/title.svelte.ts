/** The title of the window: 'Two in the lower bowl · Drills · Coldfield'. */
class Title {
  /** The name of the open record; '' if there is none. */
  record = $state('')
}

export const title = new Title()

/** Show a record's name in the title while its page is open: call it in an effect and return its result. */
export function titled(name: string): () => void {
  title.record = name
  return () => {
    if (title.record === name) title.record = ''
  }
}
