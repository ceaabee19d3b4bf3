import { expect, test } from 'vitest'

import { paperOf } from './paper'

test('letter paper where it is used, A4 elsewhere', () => {
  expect(['en-US', 'fr-CA', 'es-MX', 'de-CH', 'en-GB', 'en'].map(paperOf)).toEqual(['us-letter', 'us-letter', 'us-letter', 'a4', 'a4', 'a4'])
})
