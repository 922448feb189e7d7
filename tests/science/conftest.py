from hypothesis import settings

# the same examples everywhere, and no clock: a busy machine must fail no test
settings.register_profile("science", deadline=None, derandomize=True, max_examples=150)
settings.load_profile("science")
