/** What only invented data allow: how often the served intervals hold the truth. */
import type { Estimate } from '../../../shared/derivation.ts';
import type { ListedShot } from '../api.ts';
import type { GeneratedShot, Truth } from '../generator.ts';
import { heading, table, wrapped } from './plain-text.ts';

const compared = [
  { name: 'cue speed', of: 'cueSpeed' },
  { name: 'cue acceleration', of: 'cueAcceleration' },
  { name: 'contact time', of: 'contactTime' },
  { name: 'tip offset', of: 'tipOffset' },
] as const satisfies readonly { name: string; of: keyof Truth & keyof ListedShot['derived'] }[];

/** Share of shots whose true value lies inside the 95 % interval served for it. */
export function reportTruth(shots: readonly ListedShot[], generated: readonly GeneratedShot[]): string[] {
  const truths = new Map(generated.map(({ lab, shot, truth }) => [`${lab} ${shot.label}`, truth]));
  const rows = compared.map(({ name, of }) => {
    let inside = 0;
    let all = 0;
    for (const { lab, label, derived } of shots) {
      const truth = truths.get(`${lab} ${label}`);
      const estimate: Estimate | null = derived[of];
      if (truth === undefined || estimate === null) continue;
      all += 1;
      if (truth[of] >= estimate.lower && truth[of] <= estimate.upper) inside += 1;
    }
    return [name, String(all), String(inside), all === 0 ? '-' : `${((100 * inside) / all).toFixed(1)} %`];
  });
  return [
    ...heading('Against the truth (possible only because the data are invented)'),
    ...wrapped(
      'Shots whose true value lies inside the 95 % interval that the service gives. Scale and gear errors are common to a lab, so a lab can be off as a whole:',
    ),
    '',
    ...table(['quantity', 'shots', 'inside', 'share'], rows),
  ];
}
