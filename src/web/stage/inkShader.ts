import { GlProgram, Shader } from 'pixi.js';
import type { InkPattern } from './ink.ts';

/** Pattern numbers as the shader knows them. */
export const patternCodes: Record<InkPattern, number> = {
  solid: 0,
  dashes: 1,
  dots: 2,
  'dash-dot': 3,
  hatched: 4,
  stippled: 5,
  open: 6,
  'long-dashes': 7,
  'dash-dot-dot': 8,
};

const vertex = `#version 300 es
precision highp float;
in vec2 aPosition;
in vec4 aShape;
in vec4 aColour;
out vec4 vShape;
out vec4 vColour;
uniform mat3 uProjectionMatrix;
uniform mat3 uWorldTransformMatrix;
uniform mat3 uTransformMatrix;
void main() {
  vec3 clip = uProjectionMatrix * uWorldTransformMatrix * uTransformMatrix * vec3(aPosition, 1.0);
  gl_Position = vec4(clip.xy, 0.0, 1.0);
  vShape = aShape;
  vColour = aColour;
}`;

// vShape: distance across the middle line, half width, distance along, pattern; all lengths in pixels.
const fragment = `#version 300 es
precision highp float;
in vec4 vShape;
in vec4 vColour;
out vec4 finalColour;
void main() {
  int pattern = int(vShape.w + 0.5);
  float inside = vShape.y + 0.5 - abs(vShape.x);
  float cover = clamp(inside, 0.0, 1.0);
  float along = vShape.z;
  if (pattern == 1) cover *= clamp(4.5 - abs(mod(along, 13.0) - 4.0), 0.0, 1.0);
  else if (pattern == 2) cover *= clamp(1.6 - abs(mod(along, 5.0) - 1.0), 0.0, 1.0);
  else if (pattern == 3) {
    float at = mod(along, 17.0);
    cover *= max(clamp(5.0 - abs(at - 4.5), 0.0, 1.0), clamp(1.6 - abs(at - 13.0), 0.0, 1.0));
  }
  else if (pattern == 4) cover *= 0.12 + 0.88 * step(mod(gl_FragCoord.x + gl_FragCoord.y, 5.0), 1.6);
  else if (pattern == 5) cover *= 0.12 + 0.88 * step(length(mod(gl_FragCoord.xy, 4.0) - 2.0), 1.3);
  else if (pattern == 6) cover *= max(step(inside, 1.6), 0.08);
  else if (pattern == 7) cover *= clamp(9.0 - abs(mod(along, 22.0) - 8.5), 0.0, 1.0);
  else if (pattern == 8) {
    float at = mod(along, 21.0);
    float dots = max(clamp(1.6 - abs(at - 12.0), 0.0, 1.0), clamp(1.6 - abs(at - 17.0), 0.0, 1.0));
    cover *= max(clamp(4.5 - abs(at - 4.0), 0.0, 1.0), dots);
  }
  float alpha = vColour.a * cover;
  finalColour = vec4(vColour.rgb * alpha, alpha);
}`;

/** Makes the one shader of all pictures: strokes with feathered edges, and fills, each in a pattern. */
export function inkShader(): Shader {
  return new Shader({ glProgram: GlProgram.from({ vertex, fragment, name: 'ink' }), resources: {} });
}
