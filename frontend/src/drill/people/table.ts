/** The table of skills, requested once. */
import { api, ask } from '../../api/client'
import type { SchemaSkillsAnswer } from '../../api/schema'

let asked: Promise<SchemaSkillsAnswer> | null = null

/** The table; null if the service does not answer. Its figures are then not shown; those of the drill stay. */
export async function skillTable(): Promise<SchemaSkillsAnswer | null> {
  asked ??= ask(api.GET('/api/skills'))
  try {
    return await asked
  } catch {
    asked = null
    return null
  }
}
