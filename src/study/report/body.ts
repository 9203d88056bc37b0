import { averagingStrategy } from '../../core/averaging/index.ts';
import type { Comparison } from '../comparisons.ts';
import { breakdownCurves, type CurveSet, parameterCurves } from '../curves.ts';
import type { Gathered } from '../gathered.ts';
import type { StudyPlan } from '../plan.ts';
import { scenarioKey } from '../scenarioKey.ts';
import { sensitivities } from '../sensitivity.ts';
import type { Interval } from '../statistics/bootstrap.ts';
import type { StudySummary } from '../summary.ts';
import { curveFigure } from './curveFigure.ts';
import { intervalFigure } from './intervalFigure.ts';
import { methodsSentences } from './methods.ts';
import { numberText } from './scale.ts';
import { escaped } from './svg.ts';
import { tradeOffFigure } from './tradeOffFigure.ts';

const MOST_ROWS = 40;
const MOST_BARS = 20;

/**
 * Writes what a study tells as HTML, from the headings of second order down: for a page of its own, and for the lab.
 *
 * Every figure has a title, and its numbers as a table. All text of people is escaped.
 *
 * @param finished - false for a study that still runs: the first paragraph says so
 */
export function reportBody(
  plan: StudyPlan,
  gathered: Gathered,
  summary: StudySummary,
  version: string,
  finished: boolean,
): string {
  const { study } = plan;
  const paragraphs = (study.answer ?? '').split(/\n\s*\n/).filter((text) => text.trim() !== '');
  const hasRows = summary.rowCount > 0;
  const parts = [
    `<p class="note">Study <code>${escaped(study.id)}</code> · hash <code>${plan.hash}</code> · Sweepwise ${escaped(version)} · ${summary.recordingCount} recordings, ${summary.rowCount} rows</p>`,
    finished ? '' : '<p class="warning">Partial results: this study has not finished. Figures below will change.</p>',
    paragraphs.length > 0
      ? `<div class="answer">${paragraphs.map((text) => `<p>${escaped(text)}</p>`).join('')}</div>`
      : '',
    carryOverPart(plan, summary),
    hasRows ? rankingPart(plan, summary) : '<p>No rows yet.</p>',
    ...(hasRows ? figureParts(plan, gathered, summary) : []),
    hasRows ? comparisonPart(plan, summary) : '',
    hasRows ? cellPart(plan, summary) : '',
    `<h2>Methods</h2><p>${methodsSentences(plan, summary, version).map(escaped).join(' ')}</p>`,
    '<p class="note">Teaching simulation: model values, not normative, not for clinical decisions.</p>',
  ];
  return parts.filter((part) => part !== '').join('\n');
}

function carryOverPart(plan: StudyPlan, { carryOver }: StudySummary): string {
  if (!carryOver) return '';
  const { chosen, train, test, warning } = carryOver;
  const line = (title: string, comparison: Comparison | null) =>
    comparison ? row(title, [effectText(comparison), String(comparison.count)]) : '';
  return [
    '<h2>The choice, and whether it carries over</h2>',
    `<p>Chosen on the train scenarios: <b>${escaped(plan.settings[chosen].id)}</b>, by ${escaped(plan.choose.measure.label.toLowerCase())}.</p>`,
    warning ? `<p class="warning"><b>Warning.</b> ${escaped(warning)}</p>` : '',
    train || test
      ? table(
          'Train and sealed test',
          '',
          ['part', `against ${plan.settings[plan.reference].id}`, 'patients'],
          [line('train', train), line('sealed test', test)],
        )
      : '',
  ].join('\n');
}

function rankingPart(plan: StudyPlan, summary: StudySummary): string {
  const shown = summary.ranking.slice(0, MOST_ROWS);
  const rows = shown.map(({ setting, keepsResponse }, k) => {
    const weighed = summary.tradeOffs.find((point) => point.setting === setting);
    const cells = weighed
      ? [
          numberText(weighed.secondsToTarget),
          numberText(weighed.bias),
          percent(weighed.catastropheRate),
          percent(weighed.frontShare),
        ]
      : ['–', '–', '–', '–'];
    const name = escaped(plan.settings[setting].id);
    return `<tr><td>${k + 1}. ${name}</td>${cells.map((cell) => `<td>${cell}</td>`).join('')}<td>${keepsResponse ? 'yes' : 'no'}</td></tr>`;
  });
  const more =
    summary.ranking.length > shown.length ? `; ${summary.ranking.length - shown.length} more in summary.csv` : '';
  const head = ['setting', 'time to target, s', '|gain − 1|', 'catastrophes', 'on the front', 'response kept'];
  return [
    `<h2>Settings, the best first by ${escaped(plan.choose.measure.label.toLowerCase())}</h2>`,
    table('Settings', `Over all train conditions${more}.`, head, rows),
  ].join('\n');
}

function figureParts(plan: StudyPlan, gathered: Gathered, summary: StudySummary): string[] {
  const nameOf = (setting: number) => plan.settings[setting].id;
  const [main] = plan.measures;
  const ranked = summary.ranking.map(({ setting }) => setting);
  const compared = [...new Set([plan.reference, ...ranked])].slice(0, 12);
  const curves = plan.measures.flatMap((measure) => [
    ...parameterCurves(plan, gathered, measure),
    ...breakdownCurves(plan, gathered, measure, compared),
  ]);
  const best = ranked[0] ?? plan.reference;
  const bars = sensitivities(plan, gathered, main, best);
  return [
    ...curves.filter((set) => set.curves.length > 0).map((set) => curvePart(plan, set)),
    bars.length > 1
      ? figure(
          intervalFigure(
            `What matters most for ${nameOf(best)}`,
            `${main.label}: ${bars[0].isRatio ? 'ratio' : 'difference'} high / low`,
            bars.slice(0, MOST_BARS).map(({ path, effect, contrast }) => ({ name: path, effect, note: contrast })),
            bars[0].isRatio,
            true,
          ),
          `Sensitivity of "${nameOf(best)}": how ${main.label.toLowerCase()} changes from the low end of each thing to its high end, with 95 % intervals.`,
          table(
            'What matters most',
            '',
            ['key', 'low → high', bars[0].isRatio ? 'ratio' : 'difference'],
            bars.map(({ path, contrast, effect }) => row(path, [contrast, intervalText(effect)])),
          ),
        )
      : '',
    summary.tradeOffs.length > 1
      ? figure(
          tradeOffFigure(summary.tradeOffs, nameOf),
          'Time to target, bias and catastrophic rate (size of the disc). Rings: no other setting is as good in all three and better in one. Ellipses: 95 % of the resampled patients.',
          table(
            'Time to target against bias',
            '',
            ['setting', 'time to target, s', '|gain − 1|', 'catastrophes', 'no other is better'],
            summary.tradeOffs.map(({ setting, secondsToTarget, bias, catastropheRate, onFront }) =>
              row(nameOf(setting), [
                numberText(secondsToTarget),
                numberText(bias),
                percent(catastropheRate),
                onFront ? 'yes' : 'no',
              ]),
            ),
          ),
        )
      : '',
  ];
}

function curvePart(plan: StudyPlan, set: CurveSet): string {
  const unit = unitOf(plan, set);
  const breaks = set.curves
    .filter(({ noiseDoublesAt, gainIsOffAt }) => noiseDoublesAt !== undefined && gainIsOffAt !== undefined)
    .map(({ label, noiseDoublesAt, gainIsOffAt }) => {
      const cell = (value: number | null | undefined) => (value == null ? 'never here' : numberText(value));
      return row(label, [cell(noiseDoublesAt), cell(gainIsOffAt)]);
    });
  const title = `Breakdown: ${set.axis} at which …`;
  const head = ['curve', 'the noise has doubled', 'the response is a tenth off'];
  const isMain = set.measure === plan.measures[0];
  const breakdown = breaks.length > 0 && isMain ? table(title, title, head, breaks) : '';
  const caption = `${set.measure.label} against ${set.axis} (${set.title}), with 95 % intervals over patients.`;
  const numbers = set.curves.flatMap(({ label, points }) =>
    points.map(({ x, y }) => row(label, [numberText(x), intervalText(y)])),
  );
  const named = `${set.measure.label}${set.measure.unit ? `, ${set.measure.unit}` : ''}`;
  return `${figure(curveFigure(set, unit), caption, table(caption, '', ['curve', set.axis, named], numbers))}${breakdown}`;
}

function unitOf({ settings, outside }: StudyPlan, { kind, axis, title }: CurveSet): string {
  if (kind === 'condition') return scenarioKey(axis)?.unit ?? '';
  const id = settings.find((setting) => setting.strategy === title)?.strategy;
  if (id === undefined) return '';
  const strategy = [...outside.values()].find((own) => own.id === id) ?? averagingStrategy(id);
  return strategy.parameters.properties[axis]?.unit ?? '';
}

function comparisonPart(plan: StudyPlan, { comparisons }: StudySummary): string {
  const pooled = plan.measures.flatMap((measure) => {
    const own = comparisons.filter((entry) => entry.measure === measure);
    const together = own.filter(({ condition }) => condition === null);
    return [{ measure, entries: together.length > 0 ? together : own }];
  });
  return pooled
    .filter(({ entries }) => entries.length > 0)
    .map(({ measure, entries }) => {
      const shown = entries.slice(0, MOST_ROWS);
      const isRatio = measure.scale === 'log';
      const rows = shown.map((entry) => ({
        name: plan.settings[entry.setting].id,
        effect: entry.effect,
        note: effectText(entry),
      }));
      const reference = plan.settings[plan.reference].id;
      const axisName = isRatio
        ? `ratio to ${reference}`
        : `difference from ${reference}${measure.unit ? `, ${measure.unit}` : ''}`;
      const lines = shown.map((entry) => {
        const cells = [effectText(entry), String(entry.count), pText(entry.p), pText(entry.adjustedP)];
        return row(plan.settings[entry.setting].id, cells);
      });
      const head = ['setting', isRatio ? 'ratio' : 'difference', 'patients', 'p', 'p, adjusted'];
      return [
        `<h2>${escaped(measure.label)}: paired with ${escaped(reference)}</h2>`,
        figure(
          intervalFigure(`${measure.label}, paired`, axisName, rows, isRatio, false),
          `Same patients, same sweeps; 95 % intervals.`,
        ),
        table(`${measure.label}, paired`, '', head, lines),
      ].join('\n');
    })
    .join('\n');
}

function cellPart(plan: StudyPlan, { cells }: StudySummary): string {
  const shown = cells.slice(0, 4 * MOST_ROWS);
  const header = plan.measures.map(({ label, unit, centre }) => `${label}${unit ? `, ${unit}` : ''} (${centre})`);
  const rows = shown.map(({ condition, setting, count, measures, catastrophe, catastropheCount }) => {
    const { id, part } = plan.conditions[condition];
    const rate = `${catastropheCount}/${count} (${percent(catastrophe.low)} … ${percent(catastrophe.high)})`;
    const name = `${id}${part === 'test' ? ' (sealed)' : ''}`;
    return row(name, [plan.settings[setting].id, ...measures.map(intervalText), rate]);
  });
  const more = cells.length > shown.length ? ` ${cells.length - shown.length} more in summary.csv.` : '';
  const caption = `With 95 % intervals; catastrophes with exact ones.${more}`;
  return [
    '<h2>Every setting in every condition</h2>',
    table('Every setting in every condition', caption, ['condition', 'setting', ...header, 'catastrophes'], rows),
  ].join('\n');
}

function effectText({ effect, isRatio }: Comparison): string {
  return `${isRatio ? '× ' : ''}${intervalText(effect)}`;
}

function intervalText({ value, low, high }: Interval): string {
  return `${numberText(value)} (${numberText(low)} … ${numberText(high)})`;
}

/** A table that scrolls by itself, also by keyboard. @param name - for those who cannot see it   @param rows - as HTML */
function table(name: string, caption: string, head: readonly string[], rows: readonly string[]): string {
  const columns = head.map((text) => `<th scope="col">${escaped(text)}</th>`).join('');
  const title = caption === '' ? '' : `<caption>${escaped(caption)}</caption>`;
  const start = `<div class="scroll" tabindex="0" role="group" aria-label="${escaped(name)}">`;
  return `${start}<table>${title}<tr>${columns}</tr>${rows.join('')}</table></div>`;
}

function row(name: string, cells: readonly string[]): string {
  return `<tr><td>${escaped(name)}</td>${cells.map((cell) => `<td>${escaped(cell)}</td>`).join('')}</tr>`;
}

function figure(drawing: string, caption: string, numbers = ''): string {
  const details = numbers === '' ? '' : `<details><summary>Numbers of this picture</summary>${numbers}</details>`;
  const picture = `<div class="scroll" tabindex="0" role="group" aria-label="Picture">${drawing}</div>`;
  return `<figure>${picture}<figcaption>${escaped(caption)}</figcaption>${details}</figure>`;
}

function percent(share: number): string {
  return Number.isNaN(share) ? '–' : `${(100 * share).toFixed(share > 0 && share < 0.1 ? 1 : 0)} %`;
}

function pText(p: number): string {
  return p < 0.0001 ? '< 0.0001' : p.toPrecision(2);
}
