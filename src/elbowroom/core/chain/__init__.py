"""The chain: the one place where the stages are joined, from landmarks in all clips to measures of every throw."""
