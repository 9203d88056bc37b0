import { css, html, LitElement } from 'lit';
import { customElement, property } from 'lit/decorators.js';
import { unsafeHTML } from 'lit/directives/unsafe-html.js';
import { marked } from 'marked';
import { sharedStyles } from './sharedStyles.ts';

/** A Markdown text of a lesson. The texts are the project's own, bundled with the page: nothing foreign comes here. */
@customElement('sweep-lesson-text')
export class SweepLessonText extends LitElement {
  static override styles = [
    sharedStyles,
    css`
      :host { line-height: 1.5; overflow-wrap: anywhere; }
      h1 { margin: 0 0 0.6rem; font: italic 400 1.4rem/1.2 "Iowan Old Style", "Palatino Linotype", Palatino, Georgia, "DejaVu Serif", serif; }
      p, ol, ul, pre { margin: 0 0 0.7rem; }
      ol, ul { padding-left: 1.3rem; }
      li { margin-bottom: 0.4rem; }
      pre { padding: 0.4rem 0.7rem; border-left: 3px solid var(--rule); overflow-x: auto; }
      code { font-family: inherit; font-style: italic; }
    `,
  ];

  @property() markdown = '';

  override render() {
    return html`${unsafeHTML(marked.parse(this.markdown, { async: false }))}`;
  }
}
