"""``python -m trendwear`` is the same as the ``trendwear`` command."""

from trendwear.cli import main

if __name__ == "__main__":
    main()
