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
settings.load_profile("repeatable")
