/** What hot_shot.source holds. */
export const hotSource = { reported: 0, track: 1 } as const;
