/** What pairs from several labs do to the answer. */
import type { Warning } from '../../shared/analysis.ts';
import { list, percent, rounded } from '../pooling/figures-in-words.ts';
import { varianceOf } from '../statistics/standardised-difference.ts';
import type { ComparisonFindings } from './comparison-warnings.ts';
import { between, shown } from './effect-words.ts';

const fewLabs = 5;
const lowDegrees = 4;
const dominant = 0.5;
const heterogeneityLevel = 0.1;
const boundaryLabs = 10;
const noiseRatio = 4;
/** Fewer pairs of a lab than this say little about its noise. */
const pairsForNoise = 5;

export function labWarnings(findings: ComparisonFindings): Warning[] {
  return [...crossLab(findings), ...counts(findings), ...disagreement(findings), ...noise(findings)];
}

function crossLab({ columns, matched }: ComparisonFindings): Warning[] {
  const { codes } = columns.groups.lab;
  const across = matched.pairs.filter(({ first, second }) => codes[first] !== codes[second]).length;
  if (across === 0) return [];
  const text = `${percent(across / matched.pairs.length)} of the pairs mix two labs: what differs between labs enters the difference.`;
  return [{ code: 'CROSS_LAB_PAIRS', text }];
}

function counts({ columns, sides, answer, estimates }: ComparisonFindings): Warning[] {
  const { labs, quoted, specification } = answer;
  const warnings: Warning[] = [];
  const each = labs.map(
    ({ lab, pairs, estimate }) => `${lab} ${shown(specification.response, estimate)} (${pairs} pairs)`,
  );
  const interval =
    quoted.clusteredBy === null
      ? 'The interval counts pairs as independent: it speaks about these labs, not about labs in general'
      : `The interval allows for pairs of one ${quoted.clusteredBy} erring together (${estimates.clusters?.count} clusters)`;
  if (labs.length === 2) {
    const text = `Two labs (fewer than 3): see both rather than a pooled figure. ${interval}. Mean difference by lab: ${list(each)}.`;
    warnings.push({ code: 'VERY_FEW', text });
  } else if (labs.length > 2 && labs.length < fewLabs) {
    const text = `Only ${labs.length} labs (fewer than ${fewLabs}). Variation between labs cannot be estimated well; the interval uses t with ${rounded(quoted.degreesOfFreedom, 3)} degrees of freedom. ${interval}; take it as a description of these labs. Mean difference by lab: ${list(each)}.`;
    warnings.push({ code: 'FEW_LABS', text });
  }
  if (quoted.clusteredBy !== null && quoted.degreesOfFreedom < lowDegrees) {
    const text = `Effective degrees of freedom ${rounded(quoted.degreesOfFreedom, 2)} (below ${lowDegrees}): the p-value is unreliable; do not quote p below 0.01.`;
    warnings.push({ code: 'LOW_DF', text });
  }
  for (const { lab, share } of labs.length > 1 ? labs : []) {
    if (!(share > dominant)) continue;
    const text = `Lab ${lab} supplies ${percent(share)} of the pairs (more than ${percent(dominant)}).`;
    warnings.push({ code: 'DOMINANT_LAB', text });
  }
  const { codes, names } = columns.groups.lab;
  const present = new Set([...sides.first, ...sides.second].map((row) => names[codes[row] as number] as string));
  const paired = new Set(answer.provenance.labs.map(({ lab }) => lab));
  const dropped = [...present].filter((lab) => !paired.has(lab));
  if (dropped.length > 0) {
    const text = `${list(dropped)} ${dropped.length > 1 ? 'have' : 'has'} shots on a side of the contrast but no pair: the answer says nothing about ${dropped.length > 1 ? 'them' : 'it'}.`;
    warnings.push({ code: 'LAB_DROPPED', text });
  }
  return warnings;
}

function disagreement({ answer }: ComparisonFindings): Warning[] {
  const { heterogeneity, specification } = answer;
  if (heterogeneity === null) return [];
  const { response } = specification;
  const { tau, tauInterval, pValue, labs, prediction } = heterogeneity;
  if (tau > 0 || pValue < heterogeneityLevel) {
    const certain = pValue < heterogeneityLevel;
    const further = prediction === null ? '' : ` A further lab is expected at ${between(response, prediction)}.`;
    const text = `The difference ${certain ? 'varies between labs beyond what chance explains' : 'may vary between labs'}: standard deviation ${shown(response, tau)} (above 0; interval ${between(response, tauInterval)} by Q profile), Q test p = ${rounded(pValue, 2)} (${certain ? 'below' : 'not below'} ${heterogeneityLevel}). The mean over labs is an average, not one effect.${further}`;
    return [{ code: 'LABS_DIFFER', text }];
  }
  if (labs >= boundaryLabs) return [];
  const text = `The variation of the difference between labs is estimated as 0 with ${labs} labs (fewer than ${boundaryLabs}): that is absence of evidence. Its upper limit is ${shown(response, tauInterval.upper)} by Q profile.`;
  return [{ code: 'TAU_BOUNDARY', text }];
}

function noise({ columns, matched, estimates }: ComparisonFindings): Warning[] {
  const { codes, names } = columns.groups.lab;
  const values = estimates.adjustedDifferences ?? estimates.differences;
  const known = names.flatMap((lab, code) => {
    const own = values.filter((_, place) => {
      const pair = matched.pairs[place];
      return pair !== undefined && codes[pair.first] === code && codes[pair.second] === code;
    });
    return own.length >= pairsForNoise ? [{ lab, variance: varianceOf(own) }] : [];
  });
  const sorted = [...known].sort((a, b) => a.variance - b.variance);
  const [quiet, loud] = [sorted[0], sorted.at(-1)];
  if (quiet === undefined || loud === undefined || !(loud.variance > noiseRatio * quiet.variance)) return [];
  const times = quiet.variance > 0 ? `${rounded(loud.variance / quiet.variance, 2)} times` : 'far above';
  const text = `Labs differ in noise: pair differences of ${loud.lab} have ${times} the variance of those of ${quiet.lab} (more than ${noiseRatio} times). The mean of the labs weighted by their precision is to be preferred; it is given with the heterogeneity.`;
  return [{ code: 'HETEROSC', text }];
}
