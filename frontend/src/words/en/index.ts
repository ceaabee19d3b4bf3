import { hidden } from './hidden'
import { how } from './how'
import { day } from './day'
import { debrief } from './debrief'
import { drill } from './drill'
import { drop } from './drop'
import { figures } from './figures'
import { group } from './group'
import { hearing } from './hearing'
import { records } from './records'
import { runs } from './runs'
import { sharing } from './sharing'
import { shell } from './shell'
import { strips } from './strips'
import { changed, rehearsal } from './rehearsal'
import { checks } from './checks'
import { clock } from './clock'
import { everywhere } from './everywhere'
import { lying } from './lying'
import { checkWords } from './check_group'
import { site } from './site'

/** Everything Coldfield says, in English: the pattern for every other language. */
export const en = {
  ...hidden,
  ...how,
  ...day,
  ...debrief,
  ...drill,
  ...drop,
  ...figures,
  ...group,
  ...hearing,
  ...records,
  ...runs,
  ...sharing,
  ...shell,
  ...strips,
  ...rehearsal,
  ...changed,
  ...checks,
  ...checkWords,
  ...clock,
  ...everywhere,
  ...lying,
  ...site,
} as const
