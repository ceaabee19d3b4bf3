import { describe, expect, it } from 'vitest'

import type { SchemaDebriefDocument } from '../../api/schema'
import { parseDocument, withGround } from '../document'
import { made } from './made'

describe('the debrief that a page carries', () => {
  it('is shown as it was written', () => {
    const document = made({ title: 'Two on the lower fan' })
    expect(parseDocument(JSON.stringify(document)).document).toEqual(document)
  })

  it('needs its ground', () => {
    expect(withGround({ ...made({}), site: null } as unknown as SchemaDebriefDocument).faults[0]).toContain('site: is missing')
  })

  it('says so when nothing, or something cut short, is embedded', () => {
    expect(parseDocument(' ').faults).toEqual(['no debrief is embedded in this page'])
    expect(parseDocument('{"format":').faults[0]).toContain('cut short')
  })
})
