"""`python -m elbowroom`: the same commands as the program `elbowroom`."""

from elbowroom.cli.main import main

if __name__ == "__main__":
    main()
