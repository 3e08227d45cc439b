/** The groupings that a contrast, an exact match or a filter may use. */
export const groupingNames = [
  'lab',
  'rig',
  'cue',
  'table',
  'setUp',
  'player',
  'strokeStyle',
  'grip',
  'sessionDate',
] as const;
export type GroupingName = (typeof groupingNames)[number];
