/** Standard acceleration of free fall, m/s2 (exact by convention). */
export const standardGravity = 9.80665;
