"""The protocols and ratings that come with pulldrop: found by name, by purpose, by what their heads say."""
