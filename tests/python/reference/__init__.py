"""A second implementation of what a circuit does, made only to compare the engine with.

It shares no code with the engine and takes the slow way on purpose: every state is solved whole by nodal
analysis, every order of moving and every sequence of acts is tried. It is meant for circuits of a few devices.
"""
