/** A value estimated from residuals, with its standard uncertainty and degrees of freedom. */
export interface Uncertain {
  readonly value: number;
  readonly standardUncertainty: number;
  readonly degrees: number;
}

/** One part of a variance, with the degrees of freedom it was estimated with. */
export interface VariancePart {
  readonly variance: number;
  readonly degrees: number;
}

/**
 * A value whose variance has independent parts. Effective degrees of freedom by Welch and Satterthwaite,
 * nu = u^4 / sum (u_i^4 / nu_i) (GUM, JCGM 100:2008 G.4.1; from memory).
 */
export function fromParts(value: number, parts: readonly VariancePart[]): Uncertain {
  let variance = 0;
  let fourth = 0;
  for (const part of parts) {
    variance += part.variance;
    fourth += (part.variance * part.variance) / part.degrees;
  }
  return {
    value,
    standardUncertainty: Math.sqrt(variance),
    degrees: fourth > 0 ? (variance * variance) / fourth : (parts[0]?.degrees ?? 1),
  };
}

/**
 * Mean of independent estimates weighted by inverse variance; null of none. Their spread widens it when it exceeds what
 * the uncertainties explain (Birge's ratio, from memory). Exact estimates (no uncertainty) go before all others.
 */
export function combineIndependent(estimates: readonly Uncertain[]): Uncertain | null {
  if (estimates.length < 2) return estimates[0] ?? null;
  const exact = estimates.find(({ standardUncertainty }) => !(standardUncertainty > 0));
  if (exact !== undefined) return exact;
  let weights = 0;
  let sum = 0;
  for (const { value, standardUncertainty } of estimates) {
    const weight = 1 / (standardUncertainty * standardUncertainty);
    weights += weight;
    sum += weight * value;
  }
  const mean = sum / weights;
  let scatter = 0;
  const parts: VariancePart[] = [];
  for (const { value, standardUncertainty, degrees } of estimates) {
    const weight = 1 / (standardUncertainty * standardUncertainty);
    scatter += weight * (value - mean) * (value - mean);
    parts.push({ variance: weight / (weights * weights), degrees });
  }
  const combined = fromParts(mean, parts);
  const widening = Math.sqrt(Math.max(1, scatter / (estimates.length - 1)));
  return { ...combined, standardUncertainty: combined.standardUncertainty * widening };
}
