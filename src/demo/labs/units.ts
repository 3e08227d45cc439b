/** Units of length that the invented labs type, and the balls they play with. */
import type { LengthUnit } from '../lab-model.ts';

export const millimetres: LengthUnit = { unit: 'mm', metres: 0.001 };
export const inches: LengthUnit = { unit: 'in', metres: 0.0254 };
export const metres: LengthUnit = { unit: 'm', metres: 1 };
/** rad. */
export const degree = 0.017453292519943295;

export const pool = { ballRadius: 0.028575, ballMass: 0.17 };
export const snooker = { ballRadius: 0.02625, ballMass: 0.142 };
