"""Boolean expressions as an and-inverter graph with latches, and its binary AIGER form (format 1.9, fmv.jku.at/aiger).

A literal is an integer: twice the number of its variable, plus one when negated. 0 is false, 1 true.
"""

FALSE, TRUE = 0, 1


def negated(literal):
    return literal ^ 1


class Graph:
    """Inputs, latches (all false at first) and two-input gates; equal gates are one."""

    def __init__(self):
        self.kinds = [None]  # per variable: "input", "latch" or the two literals of a gate
        self.next_of = {}  # latch literal -> literal of its next value
        self.outputs = []
        self._gates = {}

    def _variable(self, kind):
        self.kinds.append(kind)
        return 2 * (len(self.kinds) - 1)

    def input(self):
        return self._variable("input")

    def latch(self):
        return self._variable("latch")

    def both(self, a, b):
        if a > b:
            a, b = b, a
        if a == FALSE or a == negated(b):
            return FALSE
        if a in (TRUE, b):
            return b
        if (a, b) not in self._gates:
            self._gates[a, b] = self._variable((a, b))
        return self._gates[a, b]

    def every(self, literals):
        result = TRUE
        for each in literals:
            result = self.both(result, each)
        return result

    def either(self, a, b):
        return negated(self.both(negated(a), negated(b)))

    def any(self, literals):
        return negated(self.every(negated(each) for each in literals))

    def differ(self, a, b):
        return self.either(self.both(a, negated(b)), self.both(negated(a), b))

    def choose(self, which, then, otherwise):
        return self.either(self.both(which, then), self.both(negated(which), otherwise))

    def to_aiger(self):
        """The bytes of a binary AIGER file: only what the outputs depend on."""
        groups = {"input": [], "latch": [], "gate": []}
        needed = self.needed(self.outputs)
        for variable in sorted(needed - {0}):
            kind = self.kinds[variable]
            groups[kind if isinstance(kind, str) else "gate"].append(variable)
        order = groups["input"] + groups["latch"] + groups["gate"]
        number = {0: 0} | {variable: place for place, variable in enumerate(order, 1)}

        def moved(literal):
            return 2 * number[literal >> 1] + (literal & 1)

        sizes = [len(order), len(groups["input"]), len(groups["latch"]), len(self.outputs), len(groups["gate"])]
        lines = ["aig " + " ".join(map(str, sizes))]
        lines += [str(moved(self.next_of[2 * latch])) for latch in groups["latch"]]
        lines += [str(moved(output)) for output in self.outputs]
        data = bytearray("".join(line + "\n" for line in lines).encode())
        for gate in groups["gate"]:
            low, high = sorted(moved(each) for each in self.kinds[gate])
            for delta in (2 * number[gate] - high, high - low):
                while delta > 127:
                    data.append(delta & 127 | 128)
                    delta >>= 7
                data.append(delta)
        return bytes(data)

    def needed(self, literals):
        """Variables that these depend on, through latches too."""
        seen, stack = set(), [each >> 1 for each in literals]
        while stack:
            variable = stack.pop()
            if variable not in seen:
                seen.add(variable)
                kind = self.kinds[variable]
                if kind == "latch":
                    stack.append(self.next_of[2 * variable] >> 1)
                elif isinstance(kind, tuple):
                    stack += [each >> 1 for each in kind]
        return seen
