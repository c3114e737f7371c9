"""What holds for every test."""

from hypothesis import HealthCheck, Phase, settings

settings.register_profile(
    "repeatable",
    derandomize=True,  # the same examples on every run: a failure is never somebody else's luck
    database=None,
    deadline=None,  # a shared machine may pause
    max_examples=30,
    phases=[Phase.explicit, Phase.generate, Phase.shrink],
    suppress_health_check=[HealthCheck.too_slow],
)
settings.register_profile(
    "mutants",  # make mutants asks for it: a thousand runs, and nobody reads the smallest example
    settings.get_profile("repeatable"),
    max_examples=4,
    phases=[Phase.explicit, Phase.generate],
)
settings.load_profile("repeatable")
