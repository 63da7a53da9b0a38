// Circles in a graph: node to a map of the nodes it needs, each with a reason { file, line, what }.

// The groups of nodes that can reach each other, of two or more (Tarjan's strongly connected components).
export function circles(graph) {
  const index = new Map();
  const low = new Map();
  const stack = [];
  const found = [];
  const visit = (node) => {
    index.set(node, index.size);
    low.set(node, index.get(node));
    stack.push(node);
    for (const next of graph.get(node)?.keys() ?? []) {
      if (!index.has(next)) visit(next);
      if (stack.includes(next)) low.set(node, Math.min(low.get(node), low.get(next)));
    }
    if (low.get(node) !== index.get(node)) return;
    const group = stack.splice(stack.indexOf(node));
    if (group.length > 1) found.push(group.sort());
  };
  for (const node of graph.keys()) if (!index.has(node)) visit(node);
  return found;
}

// The shortest way round a group from its first node, as the steps { from, to, reason }.
export function wayRound(graph, group) {
  const start = group[0];
  const cameFrom = new Map();
  const queue = [start];
  while (queue.length) {
    const node = queue.shift();
    for (const next of graph.get(node)?.keys() ?? []) {
      if (!group.includes(next)) continue;
      if (next === start) {
        const steps = [{ from: node, to: start }];
        for (let at = node; at !== start; at = cameFrom.get(at))
          steps.unshift({ from: cameFrom.get(at), to: at });
        return steps.map((step) => ({ ...step, reason: graph.get(step.from).get(step.to) }));
      }
      if (!cameFrom.has(next)) {
        cameFrom.set(next, node);
        queue.push(next);
      }
    }
  }
  return [];
}

export function join(graph, from, to, reason) {
  if (!graph.has(from)) graph.set(from, new Map());
  if (!graph.has(to)) graph.set(to, new Map());
  if (!graph.get(from).has(to)) graph.get(from).set(to, reason);
}
