import type { Contrast } from '../../shared/comparison.ts';
import { quantities } from '../../shared/quantities.ts';
import { chosen } from './effect-words.ts';
import { groupingWords } from './exact-keys.ts';

/** The two sides of a contrast, each in words: 'accelerating strokes', 'slowing strokes'. */
export function sideWords(contrast: Contrast): { readonly first: string; readonly second: string } {
  if (contrast.kind === 'grouping') {
    const word = groupingWords[contrast.grouping];
    return { first: `shots with ${word} ${contrast.first}`, second: `shots with ${word} ${contrast.second}` };
  }
  const { variable } = contrast;
  const { label } = quantities[variable];
  if (contrast.kind === 'sign') {
    if (variable === 'cueAcceleration') return { first: 'accelerating strokes', second: 'slowing strokes' };
    return { first: `shots with positive ${label}`, second: `shots with negative ${label}` };
  }
  if (contrast.kind === 'threshold') {
    const at = chosen(variable, contrast.at);
    return { first: `shots with ${label} above ${at}`, second: `shots with ${label} below ${at}` };
  }
  const range = ([low, high]: readonly [number, number]) =>
    `shots with ${label} from ${chosen(variable, low)} to ${chosen(variable, high)}`;
  return { first: range(contrast.first), second: range(contrast.second) };
}
