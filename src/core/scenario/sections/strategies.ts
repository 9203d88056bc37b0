import { adaptiveRejectionParameters } from '../../averaging/adaptiveRejection.ts';
import { bandWeightingParameters } from '../../averaging/bandWeighting.ts';
import { behaviourGatedParameters } from '../../averaging/behaviourGated.ts';
import { blockWeightingParameters } from '../../averaging/blockWeighting.ts';
import { forgettingAverageParameters } from '../../averaging/forgettingAverage.ts';
import { huberAverageParameters } from '../../averaging/huberAverage.ts';
import { kalmanParameters } from '../../averaging/kalman.ts';
import { medianAverageParameters } from '../../averaging/medianAverage.ts';
import { muscleNormalisedParameters } from '../../averaging/muscleNormalised.ts';
import { pairBalancedParameters } from '../../averaging/pairBalanced.ts';
import { plainMeanParameters } from '../../averaging/plainMean.ts';
import { prestimulusWeightingParameters } from '../../averaging/prestimulusWeighting.ts';
import { ruleSetParameters } from '../../averaging/ruleSet.ts';
import { selfWeightingParameters } from '../../averaging/selfWeighting.ts';
import { sortedAveragingParameters } from '../../averaging/sortedAveraging.ts';
import { stateSpaceParameters } from '../../averaging/stateSpace.ts';
import { templateWeightingParameters } from '../../averaging/templateWeighting.ts';
import { thresholdRejectionParameters } from '../../averaging/thresholdRejection.ts';
import { trimmedMeanParameters } from '../../averaging/trimmedMean.ts';

/** The tunables of every strategy, under its `scenarioKey`; the order is that of the registry. */
export const strategySections = {
  plainMean: plainMeanParameters,
  thresholdRejection: thresholdRejectionParameters,
  blockWeighting: blockWeightingParameters,
  kalman: kalmanParameters,
  adaptiveRejection: adaptiveRejectionParameters,
  selfWeighting: selfWeightingParameters,
  templateWeighting: templateWeightingParameters,
  prestimulusWeighting: prestimulusWeightingParameters,
  sortedAveraging: sortedAveragingParameters,
  medianAverage: medianAverageParameters,
  trimmedMean: trimmedMeanParameters,
  huberAverage: huberAverageParameters,
  muscleNormalised: muscleNormalisedParameters,
  pairBalanced: pairBalancedParameters,
  behaviourGated: behaviourGatedParameters,
  forgettingAverage: forgettingAverageParameters,
  bandWeighting: bandWeightingParameters,
  stateSpace: stateSpaceParameters,
  ruleSet: ruleSetParameters,
};
