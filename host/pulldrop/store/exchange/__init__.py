"""What a store gives to files and other stores, and takes from them."""
