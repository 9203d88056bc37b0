import { css } from 'lit';

/** What every element of the page looks like: one language of rules, labels, buttons and numbers. */
export const sharedStyles = css`
  :host { display: block; box-sizing: border-box; }
  :host([hidden]), [hidden] { display: none !important; }
  *, *::before, *::after { box-sizing: border-box; }
  h2, h3 {
    margin: 0;
    font: italic 400 1.07rem/1.2 "Iowan Old Style", "Palatino Linotype", Palatino, Georgia, "DejaVu Serif", serif;
  }
  p { margin: 0; }
  button, select, input, textarea, summary { font: inherit; color: inherit; }
  button, select, input[type='text'], input[type='number'], textarea {
    background: var(--card);
    border: 1px solid var(--ink-faint);
    border-radius: 3px;
    padding: 0.2rem 0.5rem;
    min-height: 1.9rem;
  }
  ::file-selector-button { font: inherit; color: inherit; background: var(--card); border: 1px solid var(--ink-faint); border-radius: 3px; padding: 0.2rem 0.5rem; cursor: pointer; }
  button { cursor: pointer; }
  button:hover:not(:disabled) { background: var(--press); }
  button[aria-pressed='true'], button.primary { background: var(--ink); color: var(--paper); border-color: var(--ink); }
  button[aria-pressed='true']:hover:not(:disabled), button.primary:hover:not(:disabled) { background: var(--ink-soft); }
  button:disabled, select:disabled, input:disabled { opacity: 0.55; cursor: not-allowed; }
  :focus-visible { outline: 2px solid var(--ink); outline-offset: 2px; border-radius: 2px; }
  input[type='range']:focus-visible { outline-offset: 0; }
  a { color: inherit; }
  .soft { color: var(--ink-soft); }
  .number { font-variant-numeric: tabular-nums lining-nums; }
  .problem { color: var(--flag); }
  .unseen {
    position: absolute; width: 1px; height: 1px; margin: -1px; padding: 0;
    overflow: hidden; clip-path: inset(50%); white-space: nowrap;
  }
  .picture { position: relative; display: block; min-width: 0; }
  .picture canvas, .picture svg { position: absolute; inset: 0; width: 100%; height: 100%; display: block; }
  .picture svg { pointer-events: none; overflow: visible; }
  .picture text { font-size: 10.5px; fill: var(--ink-soft); font-variant-numeric: tabular-nums; }
  table { border-collapse: collapse; width: 100%; font-variant-numeric: tabular-nums; font-size: 0.86rem; }
  th { font-weight: 600; text-align: left; }
  td, thead th:not(:first-child) { text-align: right; }
  th, td { padding: 0.15rem 0.35rem; border-bottom: 1px solid var(--rule); vertical-align: top; }
  .scroll { overflow-x: auto; }
  details > summary { cursor: pointer; }
`;
