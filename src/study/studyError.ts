/** Refusal of a study: one line that names file, line, key, rule and value. */
export class StudyError extends RangeError {}
