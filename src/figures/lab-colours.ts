/** A colour a lab, by the order of slugs, so that a lab keeps its colour in every figure of one answer. */
import { palette } from './palette.ts';

/** Blue is kept for the pooled curve; yellow is too pale for a line on white. */
const own = [
  palette.orange,
  palette.bluishGreen,
  palette.vermilion,
  palette.reddishPurple,
  palette.skyBlue,
  palette.black,
];

export function labColours(labs: readonly string[]): Map<string, string> {
  return new Map(labs.map((lab, place) => [lab, own[place % own.length] as string]));
}
