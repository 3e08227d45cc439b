/** Uncertainty of a result that is only known as a function: central differences over one standard uncertainty. */

export interface PropagatedInput {
  readonly value: number;
  readonly standardUncertainty: number;
}

export interface Propagated<Name extends string> {
  readonly standardUncertainty: number;
  /** Contribution of each input, in the unit of the result. */
  readonly contributions: Readonly<Record<Name, number>>;
}

/**
 * Contribution of an input: half the change of the result from one standard uncertainty below to one above (GUM, JCGM
 * 100:2008 5.1.3 note 2; from memory). Where one side has no result, the change to the other side.
 *
 * @param inputs in the order in which contributions are added
 * @param result null where there is none; there must be one at the values themselves
 */
export function propagate<Name extends string>(
  inputs: Readonly<Record<Name, PropagatedInput>>,
  result: (values: Readonly<Record<Name, number>>) => number | null,
): Propagated<Name> {
  const names = Object.keys(inputs) as Name[];
  const middle = Object.fromEntries(names.map((name) => [name, inputs[name].value])) as Record<Name, number>;
  const centre = result(middle);
  let variance = 0;
  const contributions = names.map((name) => {
    const { value, standardUncertainty } = inputs[name];
    const above = result({ ...middle, [name]: value + standardUncertainty });
    const below = result({ ...middle, [name]: value - standardUncertainty });
    const change = spread(above, below, centre);
    variance += change * change;
    return [name, change] as const;
  });
  return {
    standardUncertainty: Math.sqrt(variance),
    contributions: Object.fromEntries(contributions) as Record<Name, number>,
  };
}

function spread(above: number | null, below: number | null, centre: number | null): number {
  if (above !== null && below !== null) return Math.abs(above - below) / 2;
  const other = above ?? below;
  return other === null || centre === null ? 0 : Math.abs(other - centre);
}
