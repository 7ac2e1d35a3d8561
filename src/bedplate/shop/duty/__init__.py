"""Will it live: volumes, loads and oil films, from the engine file and what was measured."""
