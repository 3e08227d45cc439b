/** How the coefficients were estimated, in words. */
import type { RegressionSpecification } from '../../shared/regression.ts';
import type { RegressionModel } from './regression-model.ts';

export function estimatorWords(
  { labs, standardErrors, clusterBy, intercept }: RegressionSpecification,
  { alone }: RegressionModel,
): string {
  switch (labs) {
    case 'randomIntercept':
      return 'Random lab intercepts by restricted maximum likelihood; standard errors and degrees of freedom of Kenward and Roger.';
    case 'sessionsInLabs':
      return 'Random intercepts of labs and of sessions in labs by restricted maximum likelihood; standard errors and degrees of freedom of Kenward and Roger.';
    case 'synthesis':
      return "Mean of the labs' own slopes, which may differ between labs: between-lab variance by REML, standard errors of Hartung and Knapp.";
    default: {
      const levels = intercept
        ? labs === 'fixed'
          ? 'one intercept a lab'
          : 'one intercept for all labs'
        : 'through the origin';
      const errors =
        standardErrors === 'classical' || alone
          ? 'classical standard errors'
          : `cluster-robust standard errors (CR2 by ${clusterBy}) with Satterthwaite degrees of freedom`;
      return `Least squares, ${levels}; ${errors}.`;
    }
  }
}
