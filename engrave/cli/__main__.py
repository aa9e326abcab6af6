"""`python -m engrave.cli`."""

from engrave.start import main

if __name__ == "__main__":
    main()
