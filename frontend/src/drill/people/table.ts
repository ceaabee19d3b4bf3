/** The table of skills, asked for once. */
import { api, ask } from '../../api/client'
import type { SchemaSkillsAnswer } from '../../api/schema'

let asked: Promise<SchemaSkillsAnswer> | null = null

/** The table; null where the service does not answer: its figures are not shown then, those of the drill stay as they are. */
export async function skillTable(): Promise<SchemaSkillsAnswer | null> {
  asked ??= ask(api.GET('/api/skills'))
  try {
    return await asked
  } catch {
    asked = null
    return null
  }
}
