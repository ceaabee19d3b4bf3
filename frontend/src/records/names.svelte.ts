/** Names of people that a list contains by id, each requested once. */
import { findRecord } from '../api/records'

export class Names {
  private known = $state<Record<string, string>>({})
  private asked: readonly string[] = []

  of(id: string | null | undefined): string {
    return id ? (this.known[id] ?? '') : ''
  }

  /** Add a known name, so that it is not requested. */
  know(id: string, name: string): void {
    this.asked = [...this.asked, id]
    this.known[id] = name
  }

  async learn(ids: readonly (string | null | undefined)[]): Promise<void> {
    const unknown = ids.filter((id, at): id is string => !!id && !this.asked.includes(id) && ids.indexOf(id) === at)
    this.asked = [...this.asked, ...unknown]
    // A few at a time, so that other requests are not delayed.
    for (let at = 0; at < unknown.length; at += 6) await Promise.all(unknown.slice(at, at + 6).map((id) => this.ask(id)))
  }

  private async ask(id: string): Promise<void> {
    try {
      const found = await findRecord('people', id)
      if (found) this.known[id] = found.form.name
    } catch {
      this.asked = this.asked.filter((one) => one !== id)
    }
  }
}
