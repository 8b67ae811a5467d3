// From the bytes in the page to arrays: what viz/space/packed.hpp packs.
function bytesIn(id) {
  const text = atob(document.getElementById(id).textContent);
  const bytes = new Uint8Array(text.length);
  for (let i = 0; i < bytes.length; ++i) bytes[i] = text.charCodeAt(i);
  return bytes;
}

async function inflated(bytes) {
  const stream = new Blob([bytes]).stream().pipeThrough(new DecompressionStream('deflate'));
  return new Uint8Array(await new Response(stream).arrayBuffer());
}

// head: points, triangles, low (mm), step (mm), lean (mm), palette (r, g, b of each colour).
// Gives places (mm), colours (bytes) and marks by point, lean (mm) by point or null, corners of triangles.
function unpacked(head, bytes) {
  let at = 0;
  const n = head.points, m = 3 * head.triangles;
  const numbers = () => {
    const low = at, high = at + n, out = new Uint16Array(n);
    for (let i = 0, last = 0; i < n; ++i)
      out[i] = last = last + bytes[low + i] + 256 * bytes[high + i] & 65535;
    at += 2 * n;
    return out;
  };
  const places = new Float32Array(3 * n), colours = new Uint8Array(3 * n);
  for (let axis = 0; axis < 3; ++axis) {
    const grid = numbers();
    for (let i = 0; i < n; ++i) places[3 * i + axis] = head.low[axis] + head.step * grid[i];
  }
  const colour = numbers(), marks = numbers(), leans = numbers();
  for (let i = 0; i < n; ++i)
    for (let k = 0; k < 3; ++k) colours[3 * i + k] = head.palette[3 * colour[i] + k];
  const lean = head.lean > 0 ? Float32Array.from(leans, v => v * head.lean / 65535) : null;
  const corners = new Uint32Array(m);
  for (let i = 0, last = 0; i < m; ++i) {
    const folded = bytes[at + i] + 256 * bytes[at + m + i] + 65536 * bytes[at + 2 * m + i];
    corners[i] = last = last + (folded & 1 ? -(folded + 1) / 2 : folded / 2);
  }
  return {places, colours, marks, lean, corners};
}

async function meshIn(id, head) {
  return unpacked(head, await inflated(bytesIn(id)));
}
