"""What Shedbook is made of: the packages that are installed, the decoder, and what the lock says of them."""
