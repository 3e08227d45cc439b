/** The rows, in the order in which they run: those that measure this process's own speed first. */
export const rowNames = [
  'derivation',
  'matching',
  'matching-health',
  'regression',
  'first-question',
  'in-r',
  'same-get',
  'intake',
  'intake-memory',
  'start',
] as const;
export type RowName = (typeof rowNames)[number];
