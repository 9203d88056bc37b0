import { css } from 'lit';

/** How the lab lays itself out: one column on a phone, three on a desk, and no scrolling of the page where all fits. */
export const labStyles = css`
  :host { min-height: 100vh; display: flex; flex-direction: column; }
  header { display: flex; flex-wrap: wrap; gap: 0.3rem 1.2rem; align-items: center; padding: 0.45rem 1rem; border-bottom: 1px solid var(--rule); }
  h1 { margin: 0; font: italic 400 1.55rem/1 "Iowan Old Style", "Palatino Linotype", Palatino, Georgia, "DejaVu Serif", serif; letter-spacing: -0.01em; }
  header sweep-patient { flex: 1 1 24rem; }
  header nav { display: flex; gap: 0.35rem; }
  sweep-drive { padding: 0.4rem 1rem; border-bottom: 1px solid var(--rule); background: var(--card); }
  sweep-hands { padding: 0.5rem 1rem 0.35rem; border-bottom: 1px solid var(--rule); background: var(--card); }
  main { flex: 1; display: grid; gap: 0.7rem 1.1rem; padding: 0.6rem 1rem; grid-template-columns: minmax(0, 1fr); }
  .lanes { display: grid; gap: 0.35rem; min-width: 0; align-content: start; }
  .side { min-width: 0; order: -1; }
  .view { min-width: 0; order: -1; }
  .rail { display: flex; gap: 0 0.1rem; overflow-x: auto; order: -2; }
  .rail button { border: none; background: none; border-radius: 0; border-bottom: 2px solid transparent; padding: 0.2rem 0.6rem; font: italic 400 1rem/1.2 "Iowan Old Style", "Palatino Linotype", Palatino, Georgia, "DejaVu Serif", serif; color: var(--ink-soft); white-space: nowrap; }
  .rail button[aria-current] { color: var(--ink); border-color: var(--ink); }
  aside { min-width: 0; }
  .tabs { display: flex; flex-wrap: wrap; gap: 0; border-bottom: 1px solid var(--ink); margin-bottom: 0.5rem; }
  .tabs button { border: none; border-radius: 3px 3px 0 0; background: none; padding: 0.25rem 0.35rem; white-space: nowrap; font-size: 0.93rem; }
  .tabs button[aria-selected='true'] { background: var(--ink); color: var(--paper); }
  footer { display: flex; flex-wrap: wrap; gap: 0 1.2rem; justify-content: space-between; padding: 0.35rem 1rem; border-top: 1px solid var(--rule); color: var(--ink-soft); font-size: 0.86rem; }
  .dropping { outline: 3px dashed var(--truth); outline-offset: -6px; }
  .problem { display: flex; gap: 0.6rem; align-items: center; padding: 0.3rem 1rem; }
  .problem p { flex: 1; overflow-wrap: anywhere; }
  .problem button { align-self: start; color: var(--ink); }
  @media (min-width: 60rem) {
    .side, .rail, .view { order: 0; }
    main { grid-template-columns: 1.7rem minmax(0, 1.35fr) minmax(0, 1fr); padding-left: 0.3rem; column-gap: 0.8rem; }
    sweep-belt, aside { grid-column: 1 / -1; }
    .rail { flex-direction: column; grid-column: 1; overflow: visible; align-items: stretch; }
    .rail button { writing-mode: vertical-rl; transform: rotate(180deg); padding: 0.55rem 0.2rem; border-bottom: none; border-left: 2px solid transparent; min-height: 0; }
    .view { grid-column: 2 / 4; }

  }
  @media (min-width: 76rem) {
    main { grid-template-columns: 1.7rem minmax(0, 1.35fr) minmax(0, 1fr) 17.5rem; grid-template-rows: auto 1fr; }
    .reading main { grid-template-columns: 1.7rem minmax(0, 1.2fr) minmax(0, 1fr) 25rem; }
    sweep-belt { grid-column: 2 / 4; grid-row: 1; }
    .rail { grid-row: 1 / 3; padding-top: 0.3rem; }
    .lanes, .view { grid-column: 2; grid-row: 2; }
    .view { grid-column: 2 / 4; }
    .side { grid-column: 3; grid-row: 2; }
    aside { grid-column: 4; grid-row: 1 / 3; }
  }
  @media (min-width: 76rem) and (min-height: 42rem) {
    :host { height: 100vh; }
    main { min-height: 0; }
    main > * { min-height: 0; }
    aside, .side, .lanes, .view { overflow-y: auto; overflow-x: clip; }
    /* Lanes share the height; the axis of the last one hangs into the padding. */
    .lanes { --lane-height: 100%; grid-auto-rows: minmax(5.6rem, 1fr); align-content: stretch; padding-bottom: 20px; }
    .side { --race-height: max(13rem, calc(100vh - 38.6rem - var(--strip, 0rem))); }
  }
`;
