/** A number with its unit, as people send it. */
import { z } from 'zod';
import { type QuantityName, quantities } from './quantities.ts';

export const measureSchema = z.strictObject({ value: z.number(), unit: z.string().min(1).max(40) }).meta({
  id: 'Measure',
  description: 'A value with a UCUM unit, a common alias (in, ft, mph, oz, lb, fps) or px, frame, R, ball, diamond.',
});
export type Measure = z.infer<typeof measureSchema>;

/** A measure of a named quantity; the quantity's description and SI unit reach the interface description. */
export function measureOf(quantity: QuantityName) {
  const { label, description, siUnit } = quantities[quantity];
  return measureSchema.meta({ description: `${label}: ${description}`, 'x-unit': siUnit, 'x-quantity': quantity });
}

/** Names of labs, gear and datasets in addresses. */
export const slugSchema = z
  .string()
  .regex(/^[a-z0-9](?:[a-z0-9-]{0,38}[a-z0-9])?$/)
  .meta({ description: 'Lower-case letters, digits and hyphens, at most 40.' });

/** A code for a person: never a name. */
export const codeSchema = z
  .string()
  .regex(/^[A-Za-z0-9][A-Za-z0-9_.-]{0,19}$/)
  .meta({ description: 'A code of at most 20 letters, digits, points, hyphens or underscores. Never a name.' });

export const gearReferenceSchema = z
  .string()
  .regex(/^[a-z0-9](?:[a-z0-9-]{0,38}[a-z0-9])?(?:@[1-9][0-9]{0,5})?$/)
  .meta({ description: 'Name, or name@version; without a version the newest at first acceptance, kept from then on.' });

export const calendarDateSchema = z.iso.date().meta({ description: 'Calendar date as the lab wrote it, YYYY-MM-DD.' });

/** No NUL and no half of a surrogate pair: JSON can carry them, PostgreSQL cannot store them. */
const storable = /^[^\0\p{Cs}]*$/u;

/** Free text of at least and at most so many characters that every place of storage can hold. */
export function storableText(least: number, most: number) {
  return z.string().min(least).max(most).regex(storable, {
    error: 'text without NUL and without broken characters (lone surrogates)',
  });
}
