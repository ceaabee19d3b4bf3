/** Courses with their days, for choosing where a run belongs. */

interface Day {
  id: string
  course_id: string
  date: string
}

export interface CourseWithDays {
  id: string
  name: string
  days: Day[]
}

/** Courses in order of their latest day, newest first; the days of each in order. */
export function daysOfCourses(courses: readonly { id: string; name: string }[], days: readonly Day[]): CourseWithDays[] {
  const found = courses.map(({ id, name }) => ({
    id,
    name,
    days: days.filter(({ course_id }) => course_id === id).sort((a, b) => (a.date < b.date ? -1 : 1)),
  }))
  const last = ({ days: of }: CourseWithDays): string => of.at(-1)?.date ?? ''
  return found.sort((a, b) => (last(a) < last(b) ? 1 : last(a) > last(b) ? -1 : 0))
}

/** The only course day of a date; null if there is none, or more than one. */
export function fittingDay(courses: readonly CourseWithDays[], date: string): string | null {
  const [day, second] = courses.flatMap(({ days }) => days.filter((one) => one.date === date))
  return day && !second ? day.id : null
}
