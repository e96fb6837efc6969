"""Learn what a switch joins in each of its positions, while a person moves it hands free."""
