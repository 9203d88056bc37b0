import { html, type TemplateResult } from 'lit';
import type { Bench } from '../model/bench.ts';

/** A way of looking at the bench. The race is there from the start; the others are loaded when first asked for. */
export interface View {
  id: string;
  title: string;
  /** It shows the patient's settings: not while those are hidden. */
  showsSettings?: true;
  load(): Promise<unknown>;
  render(bench: Bench): TemplateResult | null;
}

/** Every view, in the order of the rail; the first is the lanes and the race. */
export const views: readonly View[] = [
  { id: 'race', title: 'Race', load: () => Promise.resolve(), render: () => null },
  {
    id: 'read',
    title: 'Read',
    load: () => import('./readView.ts'),
    render: (bench) => html`<sweep-read .bench=${bench}></sweep-read>`,
  },
  {
    id: 'compare',
    title: 'Compare',
    showsSettings: true,
    load: () => import('./compareView.ts'),
    render: (bench) => html`<sweep-compare .bench=${bench}></sweep-compare>`,
  },
  {
    id: 'series',
    title: 'Series',
    load: () => import('./seriesView.ts'),
    render: (bench) => html`<sweep-series .bench=${bench}></sweep-series>`,
  },
  {
    id: 'verdict',
    title: 'Verdict',
    load: () => import('./verdictView.ts'),
    render: (bench) => html`<sweep-verdict .bench=${bench}></sweep-verdict>`,
  },
  {
    id: 'rig',
    title: 'Leads',
    showsSettings: true,
    load: () => import('./rigView.ts'),
    render: (bench) => html`<sweep-rig .bench=${bench}></sweep-rig>`,
  },
  {
    id: 'rates',
    title: 'Rates',
    load: () => import('./ratesView.ts'),
    render: (bench) => html`<sweep-rates .bench=${bench}></sweep-rates>`,
  },
  {
    id: 'study',
    title: 'Study',
    showsSettings: true,
    load: () => import('./studyView.ts'),
    render: (bench) => html`<sweep-study .bench=${bench}></sweep-study>`,
  },
  {
    id: 'duel',
    title: 'Duel',
    load: () => import('./duelView.ts'),
    render: (bench) => html`<sweep-duel .bench=${bench}></sweep-duel>`,
  },
];
