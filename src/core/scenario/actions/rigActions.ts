import type { Scenario } from '../schema.ts';
import type { Action, ActionTarget } from './action.ts';

const always = () => null;

/** What is done to electrodes, leads, supply and room. Sizes and costs are model values. */
export const rigActions: readonly Action[] = [
  {
    id: 're-prep-an-electrode',
    label: 'Prepare an electrode again',
    effect: 'the contact is as good as new and jumps no more; without a target, that of the worst electrode',
    costS: 40,
    lastsS: 0,
    targets: true,
    needs: always,
    apply: (now, target) => {
      const electrode = target === 'none' ? worstContact(now) : target;
      return {
        [`electrodes.${electrode}.contactFactor`]: 1,
        [`electrodes.${electrode}.open`]: false,
        [`electrodes.${electrode}.lossesPerS`]: 0,
        ...(electrode === 'ipsilateral' || electrode === 'contralateral'
          ? { [`electrodes.${electrode}.stepFactor`]: 0 }
          : {}),
      };
    },
  },
  {
    id: 'loosen-an-electrode',
    label: 'Loosen an electrode',
    effect:
      'ten times the resistance, and every ten seconds the contact nearly lets go; the ipsilateral one if not said',
    costS: 0,
    lastsS: 0,
    targets: true,
    needs: always,
    apply: ({ electrodes }, target) => {
      const electrode = target === 'none' ? 'ipsilateral' : target;
      return {
        [`electrodes.${electrode}.contactFactor`]: Math.min(100, 10 * electrodes[electrode].contactFactor),
        [`electrodes.${electrode}.lossesPerS`]: 0.1,
      };
    },
  },
  {
    id: 'pull-an-electrode-off',
    label: 'Pull an electrode off',
    effect: 'its lead hangs in the air; the ipsilateral one if not said',
    costS: 0,
    lastsS: 0,
    targets: true,
    needs: always,
    apply: (_now, target) => ({ [`electrodes.${target === 'none' ? 'ipsilateral' : target}.open`]: true }),
  },
  {
    id: 'bunch-the-leads',
    label: 'Bunch the leads',
    effect: 'the loop between them shrinks to 0.01 m² per metre',
    costS: 15,
    lastsS: 0,
    needs: always,
    apply: ({ leads }) => ({ 'leads.loopM2PerM': Math.min(0.01, leads.loopM2PerM) }),
  },
  {
    id: 'take-shielded-leads',
    label: 'Take shielded leads',
    effect: 'a twentieth of the displacement current reaches the wires',
    costS: 60,
    lastsS: 0,
    needs: always,
    apply: ({ leads }) => ({ 'leads.shieldFactor': Math.min(0.05, leads.shieldFactor) }),
  },
  {
    id: 'move-the-preamp-to-the-head',
    label: 'Move the first stage to the head',
    effect: 'next to no lead is left to pick anything up: loop and lead current × 0.05',
    costS: 20,
    lastsS: 0,
    needs: always,
    apply: () => ({ 'leads.preampAtElectrode': true }),
  },
  {
    id: 'plug-the-leads-right',
    label: 'Plug the leads in as they belong',
    effect: 'no lead is exchanged for another',
    costS: 10,
    lastsS: 0,
    needs: always,
    apply: () => ({ 'leads.swapped': 'none', 'leads.reversed': false }),
  },
  {
    id: 'switch-to-battery',
    label: 'Switch to the battery',
    effect: 'no current through the isolation of the amplifier',
    costS: 5,
    lastsS: 0,
    needs: always,
    apply: () => ({ 'amplifier.supply': 'battery' }),
  },
  {
    id: 'bring-a-pump-near',
    label: 'Bring a pump near',
    effect: 'as much of field, of body and lead current and of switching as in intensive care, on top of what there is',
    costS: 0,
    lastsS: 0,
    needs: always,
    apply: ({ room }) => ({
      'room.fieldUt': Math.min(100, room.fieldUt + 1),
      'room.leadCurrentNaPerM': Math.min(500, room.leadCurrentNaPerM + 5),
      'room.bodyCurrentUa': Math.min(50, room.bodyCurrentUa + 0.5),
      'room.switchingsPerS': Math.min(5, room.switchingsPerS + 0.05),
    }),
  },
  {
    id: 'move-the-cables-away',
    label: 'Move pumps and cables a metre away',
    effect: 'a quarter of field, body and lead current, and no more switching',
    costS: 20,
    lastsS: 0,
    needs: always,
    apply: ({ room }) => ({
      'room.fieldUt': room.fieldUt / 4,
      'room.leadCurrentNaPerM': room.leadCurrentNaPerM / 4,
      'room.bodyCurrentUa': room.bodyCurrentUa / 4,
      'room.switchingsPerS': 0,
    }),
  },
  {
    id: 'switch-the-lamps-off',
    label: 'Switch the lamps off',
    effect: 'nothing at twice the line frequency from lamps',
    costS: 5,
    lastsS: 0,
    needs: always,
    apply: () => ({ 'room.lampFieldUt': 0 }),
  },
];

/** The electrode with the worst contact: an open one, else the one with the largest resistance, losses and jumps counted. */
function worstContact({ electrodes, drift }: Scenario): Exclude<ActionTarget, 'none'> {
  const names = ['common', 'ipsilateral', 'contralateral', 'ground'] as const;
  const badness = (name: (typeof names)[number]) => {
    const electrode = electrodes[name];
    const stepsPerS = 'stepFactor' in electrode ? drift.stepsPerS * electrode.stepFactor : 0;
    return electrode.open ? Infinity : electrode.contactFactor * (1 + 100 * electrode.lossesPerS + 10 * stepsPerS);
  };
  return names.reduce((worst, name) => (badness(name) > badness(worst) ? name : worst));
}
