"""What a change of lane condition does to the people who bowl on it.

The rooms, lowest first: ``lane``, ``pins``, ``scoring``, ``ball``, ``bowlers``, ``play``,
``center``, ``run``, ``study``, ``outside``, ``report``, ``cli``.  Nothing heavy is imported here.
"""

__version__ = "0.1.0"
