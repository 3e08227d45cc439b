/** One step of an explained derivation, with its link into the methods text. */
import type { DerivationStep, ExplainedNumber, MethodSection } from '../../../shared/explanation.ts';

export function methodsLink(section: MethodSection): string {
  return `/v1/methods#${section}`;
}

export function step(
  section: MethodSection,
  title: string,
  done: string,
  numbers: readonly ExplainedNumber[],
  formula: string | null = null,
): DerivationStep {
  return { title, done, formula, numbers: [...numbers], methods: methodsLink(section) };
}

export function number(name: string, value: number | string | null, unit: string | null): ExplainedNumber {
  return { name, value, unit };
}
